"""The arithmetic of the trade, a family a file. No input or output and no spreadsheet words in here."""

"""The functions inside spreadsheets. Each host is made from the catalogue; none has a list of its own."""

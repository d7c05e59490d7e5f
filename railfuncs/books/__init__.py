"""Workbooks: the job workbook, columns in an existing bid sheet, and what is shared."""

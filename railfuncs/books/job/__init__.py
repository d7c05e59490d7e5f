"""The job workbook for level runs: every number a native formula with its value stored beside it."""

from railfuncs.books.job.book import build, write_job

__all__ = ["build", "write_job"]

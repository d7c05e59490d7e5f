"""Adding spacing columns to somebody's own bid sheet, with every byte that need not change left as it was."""

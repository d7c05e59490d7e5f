"""`python -m railfuncs` is the same command."""

from railfuncs.cli import main

main()

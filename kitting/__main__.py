"""Run the command line with ``python -m kitting``."""

from kitting.commands import main

main()

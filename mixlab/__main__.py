"""``python -m mixlab``: the same as the command ``mixlab``."""

from mixlab.cli import main

main()

"""``python -m mixlab``: the same as the command ``mixlab``."""

from mixlab.show.cli import main

main()

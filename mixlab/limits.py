"""How much is read of anything: every reader asks here before it works.

Real files are far smaller. Within these limits no file takes more than 5 s or 1 GB to be read or
refused; tests/fuzz holds them.
"""

TEXT_BYTES = 16_000_000
"""Greatest size of a text file: a table, a list of colours, readings."""

TOML_BYTES = 250_000
"""Greatest size of a palette, or of a swatch card's description."""

COLUMNS = 5_000
PAINTS = 10_000
"""Paints of a table, and those that a palette lists."""

COLOURS = 5_000
"""Colours of a list."""

PLACES = 64
"""Passages that are asked about at once."""

READINGS = 5_000
LINES = 100_000
"""Of a CGATS.17 text."""

ELEMENTS = 100_000
"""Of a CxF3 document."""

DEPTH = 64
"""How deep the elements of a CxF3 document may lie, and how many parts a key of TOML may have."""

LETTERS = 2_000
"""Of a colour, or of a mix, in writing."""

FAULTS = 100
"""Faults that are told of a file."""

PIXELS = 110_000_000
"""Of a picture of 8 bits a channel: what telephones call 108 megapixels."""

DEEP_PIXELS = 50_000_000
"""Of a picture of 16 bits a channel, or of inks."""

"""The lesson: a sheet to paint, and what a photograph of the painted sheet tells."""

"""Where the bundled data lie, and how files are written."""

import os
from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def bundled(name: str) -> Path:
    """Return the path of a bundled data file, e.g. ``bundled("paints.csv")``.

    An installed package carries the data inside itself; in a checkout they lie beside it.
    """
    inside = _PACKAGE / "data" / name
    return inside if inside.exists() else _PACKAGE.parent / "data" / name


def write_whole(path: str | os.PathLike[str], content: str | bytes) -> None:
    """Write a file so that it is either there whole or not changed at all."""
    import tempfile

    target = Path(path)
    data = content.encode() if isinstance(content, str) else content
    handle, temporary = tempfile.mkstemp(dir=target.parent or ".", prefix=f".{target.name}.")
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
        os.chmod(temporary, 0o644)
        os.replace(temporary, target)
    except BaseException:
        os.unlink(temporary)
        raise

"""kinphoto: who is in each family photograph, and about when it was taken.

Only `__version__` is set at import, so that `import kinphoto` costs nothing; the public names are loaded on use. Where
there are catalogues of other languages, the modules that are imported from here on are read through them.
"""

from __future__ import annotations

from os.path import isdir, join
from typing import TYPE_CHECKING, Any

from kinphoto.version import __version__

__all__ = ["Archive", "KinphotoError", "__version__"]

if TYPE_CHECKING:
    from kinphoto.archive import Archive
    from kinphoto.errors import KinphotoError

if isdir(join(__path__[0], "locale")):  # noqa: PTH112, PTH118  # pathlib takes time to load
    from kinphoto.translation.modules import import_in_language

    import_in_language()


def __getattr__(name: str) -> Any:
    """Load `Archive` and `KinphotoError` when somebody asks for them (PEP 562)."""
    if name == "Archive":
        from kinphoto.archive import Archive

        return Archive
    if name == "KinphotoError":
        from kinphoto.errors import KinphotoError

        return KinphotoError
    raise AttributeError(f"module 'kinphoto' has no attribute {name!r}")

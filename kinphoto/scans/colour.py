"""The colours of a scan as a browser shows them: eight bits, sRGB.

Scanners and cameras describe their colours by an ICC profile in the file. Every tile would have to carry that profile,
sometimes half a megabyte, and browsers interpret it differently; so colours are converted once, and what is shown needs
no profile. Where the profile is broken or describes other channels, colours stay as they are.
"""

from __future__ import annotations

import io

from PIL import Image, ImageCms


class Colours:
    """Converts pictures that share an ICC profile; with `profile` None they stay as they are."""

    def __init__(self, profile: bytes | None) -> None:
        self._profile = profile
        self._transforms: dict[str, ImageCms.ImageCmsTransform | None] = {}

    def converted(self, picture: Image.Image) -> Image.Image:
        """A picture of mode L, RGB or CMYK in sRGB; what was grey stays grey."""
        if picture.mode not in self._transforms:
            self._transforms[picture.mode] = _transform(self._profile, picture.mode)
        transform = self._transforms[picture.mode]
        if transform is None:
            return picture
        in_colour = ImageCms.applyTransform(picture, transform)
        assert in_colour is not None  # only when converting in place
        return in_colour.getchannel("R") if picture.mode == "L" else in_colour


def _transform(profile: bytes | None, mode: str) -> ImageCms.ImageCmsTransform | None:
    if not profile or mode not in ("L", "RGB", "CMYK"):
        return None
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        if ImageCms.getProfileDescription(source).startswith("sRGB"):
            return None
        return ImageCms.buildTransform(source, ImageCms.createProfile("sRGB"), mode, "RGB")
    except (ImageCms.PyCMSError, OSError):
        return None

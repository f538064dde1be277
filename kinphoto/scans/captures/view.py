"""The picture of a print between its corners, straight: pixels by one homography, resampled once."""

from __future__ import annotations

from PIL import Image

from kinphoto.scans import upright
from kinphoto.scans.captures.straight import Straight, from_square
from kinphoto.scans.picture import eight_bits


def straightened(image: Image.Image, orientation: int, straight: Straight) -> Image.Image:
    """What is between the corners of a print, as a rectangle and as the file asks to be turned."""
    whole = upright.upright_size(image.size, orientation)
    size = straight.size(whole)
    image = image if image.mode in ("L", "RGB", "CMYK") else eight_bits(image)
    corners = [upright.stored_point(corner, orientation) for corner in straight.corners]
    (a, b, c), (d, e, f), (g, h, _) = from_square([(x * image.width, y * image.height) for x, y in corners])
    across, down = size
    matrix = a / across, b / down, c, d / across, e / down, f, g / across, h / down
    return image.transform(size, Image.Transform.PERSPECTIVE, matrix, Image.Resampling.BICUBIC)

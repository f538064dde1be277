"""What exiftool reads in files and writes into them. It takes longer to begin than to do either, so a process of tests
starts it once, and it stays open for the next question (exiftool's `-stay_open`)."""

from __future__ import annotations

import atexit
import re
import subprocess
from functools import cache


def exiftool(*arguments: object) -> str:
    """What `exiftool ARGUMENTS` prints. Paths have to be whole: it runs in the folder in which it was first asked.

    Raises AssertionError when it fails; what it complains of stands in what the test printed.
    """
    printed, status = asked(*arguments)
    assert status == 0, f"exiftool {' '.join(map(str, arguments))}: {printed}"
    return printed


def asked(*arguments: object) -> tuple[str, int]:
    """The same, and the status with which it would have ended."""
    process = _open()
    assert process.stdin is not None
    assert process.stdout is not None
    lines = [*map(_line, map(str, arguments)), "-echo3", "${status}", "-execute1"]
    process.stdin.write("".join(f"{line}\n" for line in lines).encode())
    process.stdin.flush()
    said = bytearray()
    while not said.endswith(b"{ready1}\n"):
        line = process.stdout.readline()
        assert line, "exiftool has ended"
        said += line
    printed, status = said.decode("utf-8", "replace").removesuffix("\n{ready1}\n").rpartition("\n")[::2]
    return printed, int(status)


def _line(argument: str) -> str:
    """As a line of an argument file: as it is, or as a string of C where exiftool would take something away."""
    if re.search(r"\n|= |^[\s#]|^$", argument) is None:
        return argument
    assert not re.search(r"[$@]", argument), "exiftool puts a backslash before these in a string of C"
    return "#[CSTR]" + argument.replace("\\", "\\\\").replace("\n", "\\n")


UNTIL_THE_END = "(cat; printf '%s\\n' -stay_open False) | exiftool -stay_open True -@ -"
"""It would stay open for ever where the tests were stopped and said nothing more."""


@cache
def _open() -> subprocess.Popen[bytes]:
    process = subprocess.Popen(["sh", "-c", UNTIL_THE_END], stdin=subprocess.PIPE, stdout=subprocess.PIPE)
    atexit.register(process.communicate)
    return process

"""What a measuring process runs: one request per line on standard input, one reply per line on standard output.

A module of its own, so that such a process loads as little as possible before its first scan.
"""

from __future__ import annotations

import json
import os
import sys
from dataclasses import asdict
from importlib import import_module
from pathlib import Path
from typing import Any

from kinphoto.errors import ArchiveError, KinphotoError, UnreadableFileError
from kinphoto.scans.measure import measure, measure_quality
from kinphoto.scans.picture import NeedsMemoryError
from kinphoto.scans.priority import stand_back


def serve() -> None:
    """Answer requests until there are no more."""
    replies = os.fdopen(os.dup(1), "w", encoding="utf-8")
    print("ready", file=replies, flush=True)
    os.dup2(2, 1)  # nothing that a library prints may look like a reply
    for line in sys.stdin:
        request = json.loads(line)
        if "load" in request:
            print(json.dumps({"loaded": load()}), file=replies, flush=True)
            continue
        if "thumbs" not in request:  # of scans that are there already, while somebody may be looking at them
            stand_back()
        print(json.dumps(reply(request)), file=replies, flush=True)


def load() -> int:
    """Load what measuring and checking a scan takes, which is otherwise loaded with the first one; how many modules
    there are now."""
    for module in ("imagehash", "kinphoto.scans.look", "kinphoto.scans.checks.film", "kinphoto.scans.checks.measures"):
        import_module(module)
    return len(sys.modules)


def reply(request: dict[str, Any]) -> dict[str, Any]:
    """The `scans` of a file (the fields of a `Measurement` each), its pages that are `unread`, and where it was to be
    checked `along` with them the fields of the `Measures` of each; or its `checks`, where only these are asked for, or
    its `faces` (and the `turn` that stands it upright), or `descriptors` of faces, or what is `described` in frames.
    Else `needs`, bytes of memory, `why` it cannot be read, or why to `stop`."""
    try:
        if "check" in request:
            return {"checks": asdict(measure_quality(request["path"], request["check"], request["memory"]))}
        if "find_faces" in request:
            from kinphoto.scans.faces import find_faces  # the networks are loaded only where they are wanted

            return find_faces(request["path"], *request["find_faces"], memory=request["memory"])
        if "find_on_detail" in request:
            from kinphoto.scans.faces import find_on_detail

            return find_on_detail(request["path"], *request["find_on_detail"], memory=request["memory"])
        if "describe_frames" in request:
            from kinphoto.scans.faces import describe_frames

            described = describe_frames(request["path"], *request["describe_frames"], memory=request["memory"])
            return {"described": described}
        if "describe_faces" in request:
            from kinphoto.scans.faces import describe_faces

            numbers = describe_faces(request["path"], *request["describe_faces"], memory=request["memory"])
            return {"descriptors": numbers}
        found = measure(
            request["path"],
            Path(request["thumbs"]),
            sha256=request["sha256"],
            memory=request["memory"],
            check=request["along"],
        )
    except NeedsMemoryError as problem:
        return {"needs": problem.needed}
    except UnreadableFileError as problem:
        return {"why": _fields(problem)}
    except ArchiveError as problem:
        return {"stop": _fields(problem)}
    return {
        "scans": [asdict(scan) for scan in found.scans],
        "unread": [_fields(problem) for problem in found.unread],
        "along": [asdict(checks) for checks in found.checks],
    }


def _fields(problem: KinphotoError) -> dict[str, str]:
    return {"what": problem.what, "where": problem.where, "remedy": problem.remedy}

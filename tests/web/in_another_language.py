"""Shows pages of an archive in another language, for a test that runs this in a process of its own, as the language is
chosen when modules are imported.

The arguments are the folder of the catalogues, the folder of the archive, and addresses as JSON. Prints, as JSON, the
answer to each.
"""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path

from kinphoto.translation import catalogues
from kinphoto.translation.modules import import_in_language


def main(folder: str, archive: str, addresses: str) -> None:
    os.environ["LANGUAGE"] = "de"
    catalogues.CATALOGUES = Path(folder)
    import_in_language()
    from web.client import Client

    from kinphoto.archive import Archive
    from kinphoto.web.app import make_app

    opened = Archive.open(Path(archive))
    opened.dates.refresh()
    client = Client(make_app(opened), base_url="http://127.0.0.1:5817")
    print(json.dumps([client.get(address).text for address in json.loads(addresses)]))
    opened.close()


if __name__ == "__main__":
    main(*sys.argv[1:])

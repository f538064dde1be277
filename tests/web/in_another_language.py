"""Shows pages of an archive in another language, for a test that runs this in a process of its own, as the language is
chosen when modules are imported.

The arguments are the folder of the catalogues, the folder of the archive, and what is asked, as JSON in a file: an
address, or for a form its address and its fields. Prints, as JSON, the answer to each; after a form, that of the page
that it leads to. With a fourth argument a site and a package to
deposit are made in that folder.
"""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path

from kinphoto.translation import catalogues
from kinphoto.translation.modules import import_in_language


def main(folder: str, archive: str, asked: str, given: str = "") -> None:
    os.environ["LANGUAGE"] = "de"
    catalogues.CATALOGUES = Path(folder)
    import_in_language()
    from web.client import Client
    from web.conftest import Browser

    from kinphoto.archive import Archive
    from kinphoto.web.app import make_app
    from kinphoto.web.jobs import Job

    opened = Archive.open(Path(archive))
    opened.dates.refresh()
    app = make_app(opened)
    app.state.jobs.start = lambda what, *_: Job(what)  # long work says that it has begun, and is not done
    browser = Browser(Client(app, base_url="http://127.0.0.1:5817"))
    answers = []
    for each in json.loads(Path(asked).read_text(encoding="utf-8")):
        if isinstance(each, str):
            answers.append(browser.client.get(each).text)
        else:
            path, fields = each
            answer = browser.post(path, fields)
            onward = answer.headers.get("location", "") if answer.status_code == 303 else ""
            answers.append(browser.client.get(onward).text if onward else answer.text)
    print(json.dumps(answers))
    if given:
        opened.give.write_site(Path(given, "site"), "household", write=True)
        opened.give.make_deposit(Path(given, "package"), "household", write=True)
    opened.close()


if __name__ == "__main__":
    main(*sys.argv[1:])

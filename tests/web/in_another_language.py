"""Shows pages of an archive in another language, for a test that runs this in a process of its own, as the language is
chosen when modules are imported.

The arguments are the folder of the catalogues, the folder of the archive, and a folder with what is asked, a list in
`asked.json`: an address, or for a form its address and its fields. Writes the answer to each into `answers.json` there;
after a form, that of the page that it leads to. A site and a package to deposit are made there too, of the archive as
it was.
"""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path

from kinphoto.translation import catalogues
from kinphoto.translation.modules import import_in_language


def main(folder: str, archive: str, asked: str) -> None:
    os.environ["LANGUAGE"] = "de"
    catalogues.CATALOGUES = Path(folder)
    import_in_language()
    from web.client import Client
    from web.conftest import Browser

    from kinphoto.archive import Archive
    from kinphoto.web.app import make_app
    from kinphoto.web.jobs import Job

    opened, place = Archive.open(Path(archive)), Path(asked)
    opened.dates.refresh()
    opened.give.write_site(place / "given" / "site", "household", write=True)
    opened.give.make_deposit(place / "given" / "package", "household", write=True)
    app = make_app(opened)
    app.state.jobs.start = lambda what, *_: Job(what)  # long work says that it has begun, and is not done
    browser = Browser(Client(app, base_url="http://127.0.0.1:5817"))
    answers = []
    for each in json.loads((place / "asked.json").read_text(encoding="utf-8")):
        if isinstance(each, str):
            answers.append(browser.client.get(each).text)
        else:
            path, fields = each
            answer = browser.post(path, fields)
            onward = answer.headers.get("location", "") if answer.status_code == 303 else ""
            answers.append(browser.client.get(onward).text if onward else answer.text)
    (place / "answers.json").write_text(json.dumps(answers), encoding="utf-8")
    opened.close()


if __name__ == "__main__":
    main(*sys.argv[1:])

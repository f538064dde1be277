"""The pages of the sample that every check of all pages goes through, each by what it is and where it is found."""

from __future__ import annotations

PAGES = {
    "first": "/",
    "boxes": "/boxes",
    "box": "/box/9",
    "wanting": "/box/9?wanting=unnamed",
    "photograph": "/photograph/K00009",
    "disputed": "/photograph/K00023",
    "naming": "/photograph/K00016?naming=1",
    "reading": "/photograph/K00009/back",
    "album page": "/photograph/K00001",
    "person": "/person/I24",
    "people": "/people?name=quillern",
    "search": "/search?q=clemence",
    "nothing found": "/search?q=zzz",
    "questions": "/questions",
    "questions for one": "/questions?of=Judith+Quillern",
    "conflicts": "/conflicts",
    "informants": "/informants",
    "log": "/log",
    "bring in": "/bring-in",
    "keep": "/keep",
    "sign in": "/sign-in",
    "refused": "/person/I9999",
}

"""The invented family: who they were (the truth) and what their tree says (which is not always the same).

`PEOPLE` and `FAMILIES` are plain data. The first two dates of a person are the truth, used to draw the pictures and
to check what is concluded about them. `born`, `died`, `christened` and `buried` are the words of the tree, in GEDCOM
date syntax; None means that the tree has the true day, "" that it says nothing.

    python -m sample_tree.family    writes family.ged
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

HERE = Path(__file__).parent
TOWN, PORT = "Pellering", "Port Lissom"
MONTHS = ("JAN", "FEB", "MAR", "APR", "MAY", "JUN", "JUL", "AUG", "SEP", "OCT", "NOV", "DEC")


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody of the family. `birth` and `death` are true ISO days (`death` is "" for the living)."""

    id: str
    given: str
    surname: str
    sex: str
    birth: str
    death: str = ""
    born: str | None = None
    died: str | None = None
    christened: str = ""
    buried: str = ""
    place: str = TOWN
    work: str = ""
    also: tuple[tuple[str, str], ...] = ()
    """Other names: (kind, name), such as ("married", "Ottilie /Harsk/")."""
    note: str = ""

    @property
    def name(self) -> str:
        """The name as people say it."""
        return f"{self.given} {self.surname}"


@dataclass(frozen=True, slots=True)
class Family:
    """A couple, or one parent, and the children. `married` is the true ISO day ("" when there was no wedding) and
    `wed` what the tree says about it, as in `Person`."""

    id: str
    husband: str = ""
    wife: str = ""
    children: tuple[str, ...] = ()
    married: str = ""
    wed: str | None = None
    place: str = TOWN
    adopted: tuple[str, ...] = ()
    note: str = ""


PEOPLE: tuple[Person, ...] = (
    # The ferryman and his two wives
    Person("I1", "Ambrose", "Quillern", "M", "1822-03-09", "1894-11-20", born="ABT 1822", work="ferryman, basket-maker",
           also=(("aka", "Ambros /Quillarn/"),), note="Signed himself Quillarn; his children wrote Quillern."),
    Person("I2", "Lisbet", "Sallow", "F", "1826-05-02", "1858-02-11", born="", died="FEB 1858",
           christened="7 MAY 1826", place="Upper Sallows"),
    Person("I3", "Dorothea", "Brask", "F", "1835-08-30", "1911-01-05", also=(("married", "Dorothea /Quillern/"),)),
    # Their children
    Person("I4", "Corvin", "Quillern", "M", "1848-04-17", "1921-09-03", work="osier grower"),
    Person("I5", "Henrike", "Quillern", "F", "1851-10-08", "1929-04-02", born="ABT 1851", died="1929",
           also=(("married", "Henrike /Tolleman/"),)),
    Person("I6", "Tilda", "Quillern", "F", "1855-06-01", "1859-12-24", born="BEF 1856", died="1859"),
    Person("I7", "Lambert", "Quillern", "M", "1861-06-21", "1938-12-13", buried="16 DEC 1938",
           work="ferryman, the last one"),
    Person("I8", "Ottilie", "Quillern", "F", "1864-11-02", "1952-03-30", born="EST 1870",
           also=(("married", "Ottilie /Harsk/"),)),
    Person("I9", "Silvan", "Quillern", "M", "1868-01-29", "1941-10-01", died="", work="basket-maker",
           note="Went to Port Lissom in the spring of 1909."),
    Person("I10", "Rosamund", "Quillern", "F", "1873-07-15", "1965-02-08", work="schoolmistress"),
    # Those they married
    Person("I11", "Maud", "Deverick", "F", "1852-12-01", "1930-05-22", born="1852",
           also=(("married", "Maud /Quillern/"),)),
    Person("I12", "Josper", "Tolleman", "M", "1845-07-12", "1889-02-28", born="BET 1843 AND 1847", work="lock-keeper"),
    Person("I13", "Clemence", "Ombry", "F", "1866-02-03", "1949-07-19", died="19 JUL 1919",
           also=(("married", "Clemence /Quillern/"),), place="Sandle Point"),
    Person("I14", "Anton", "Harsk", "M", "1860-05-05", "1919-01-11", born="EST 1860", work="joiner"),
    Person("I15", "Bettina", "Luddick", "F", "1872-09-14", "1904-08-08"),
    Person("I16", "Irma", "Wexel", "F", "1880-03-25", "1963-05-17", born="BEF 1883", died="", place="Sandle Point"),
    # The grandchildren
    Person("I17", "Ambrose", "Quillern", "M", "1874-03-02", "1951-06-18", work="osier grower",
           note="Called Ambrose of the Osiers, to tell him from his cousin."),
    Person("I18", "Lisbet", "Quillern", "F", "1877-01-23", "1960-10-11", died="1960",
           also=(("married", "Lisbet /Dray/"),)),
    Person("I19", "Hedda", "Quillern", "F", "1882-10-30", "1971-04-04", also=(("married", "Hedda /Kembery/"),)),
    Person("I20", "Ruben", "Quillern", "M", "1885-05-11", "1916-07-20", died="JUL 1916", note="Fell in the first war."),
    Person("I21", "Otmar", "Tolleman", "M", "1878-02-14", "1955-09-09", born="1878"),
    Person("I22", "Greta", "Tolleman", "F", "1881-12-19", "1968-08-24", also=(("married", "Greta /Istler/"),)),
    Person("I23", "Ida", "Tolleman", "F", "1887-06-06", "1966-01-15", died="AFT 1955"),
    Person("I24", "Ambrose", "Quillern", "M", "1890-08-12", "1974-02-27", work="basket-maker",
           note="Called Ambrose of the Ferry."),
    Person("I25", "Vera", "Quillern", "F", "1893-04-03", "1982-05-05", also=(("married", "Vera /Corrance/"),)),
    Person("I26", "Felix", "Quillern", "M", "1897-09-27", "1918-10-04", note="Died in the first war."),
    Person("I27", "Nora", "Quillern", "F", "1902-02-11", "1990-08-19", work="postmistress",
           note="Aunt Nora. In 1983 she went through the box and filled a copybook."),
    Person("I28", "Leopold", "Harsk", "M", "1887-07-01", "1946-12-12", died="ABT 1946"),
    Person("I29", "Martha", "Harsk", "F", "1890-01-16", "1972-10-10", also=(("married", "Martha /Selwitz/"),)),
    Person("I30", "Casper", "Harsk", "M", "1895-11-05", "1969-03-03"),
    Person("I31", "Hugo", "Quillern", "M", "1897-03-19", "1970-01-09", died=""),
    Person("I32", "Perpetua", "Quillern", "F", "1901-06-24", "1988-02-02", died=""),
    Person("I33", "Wilmot", "Quillern", "M", "1908-05-09", "1991-11-11", died=""),
    Person("I34", "Estrid", "Quillern", "F", "1913-09-23", "1999-07-07", born="ABT 1913", died="", place=PORT),
    Person("I40", "Emil", "Quillern", "M", "1899-03-12", "1977-06-21", work="schoolmaster",
           note="Rosamund never said who his father was."),
    # Those they married
    Person("I35", "Selma", "Fallowes", "F", "1876-11-11", "1944-04-14", also=(("married", "Selma /Quillern/"),)),
    Person("I36", "Hannes", "Dray", "M", "1870-06-20", "1936-11-02", work="carter"),
    Person("I37", "Florian", "Kembery", "M", "1879-09-09", "1941-03-15", born="1879"),
    Person("I38", "Agathe", "Morvane", "F", "1888-02-20", "1969-12-01", born="CAL 1888",
           also=(("married", "Agathe /Quillern/"),)),
    Person("I39", "Walter", "Istler", "M", "1877-05-30", "1950-01-20", died="BEF 1952"),
    Person("I51", "Johanna", "Penwell", "F", "1896-12-03", "1984-10-26", also=(("married", "Johanna /Quillern/"),)),
    Person("I55", "Dominik", "Corrance", "M", "1889-10-10", "1958-04-01"),
    Person("I58", "Bruno", "Selwitz", "M", "1886-03-03", "1949-09-30", born="BET 1885 AND 1888"),
    Person("I61", "Frieda", "Tarn", "F", "1902-08-08", "1986-03-17", also=(("married", "Frieda /Quillern/"),)),
    Person("I64", "Mabel", "Underhay", "F", "1900-01-19", "1981-12-05", born="ABT 1900", died="", place=PORT),
    # The great-grandchildren
    Person("I41", "Corvin", "Quillern", "M", "1902-01-17", "1979-02-02"),
    Person("I42", "Maud", "Quillern", "F", "1905-03-08", "1993-05-05", also=(("married", "Maud /Brennock/"),)),
    Person("I43", "Theodor", "Quillern", "M", "1909-12-24", "1943-11-08", died="1943", note="Missing in the second war."),
    Person("I44", "Ragna", "Dray", "F", "1901-07-07", "1984-01-30"),
    Person("I45", "Josef", "Dray", "M", "1906-10-21", "1975-08-08", born="OCT 1906"),
    Person("I46", "Luise", "Kembery", "F", "1912-04-15", "1997-09-02", born="ABT 1912", place="",
           note="Taken in after the high water of 1913; nobody knew her people."),
    Person("I47", "Albin", "Kembery", "M", "1915-06-02", "1994-10-14"),
    Person("I48", "Katrin", "Quillern", "F", "1912-12-30", "2001-04-23"),
    Person("I49", "Sophie", "Istler", "F", "1906-05-18", "1989-11-02"),
    Person("I50", "Konrad", "Istler", "M", "1911-08-29", "1944-06-30"),
    Person("I52", "Lambert", "Quillern", "M", "1923-02-20", "2009-01-12", work="wicker furniture"),
    Person("I53", "Clara", "Quillern", "F", "1926-09-05", "2016-12-20", also=(("married", "Clara /Vale/"),)),
    Person("I54", "Peter", "Quillern", "M", "1931-11-30", note="Uncle Peter."),
    Person("I56", "Elise", "Corrance", "F", "1920-04-10", "2008-06-06"),
    Person("I57", "Georg", "Corrance", "M", "1924-01-31", "1999-03-03"),
    Person("I59", "Anton", "Selwitz", "M", "1914-05-25", "1980-07-18"),
    Person("I60", "Ottilie", "Selwitz", "F", "1918-12-05", "2004-02-14", also=(("nickname", "Tilly /Selwitz/"),)),
    Person("I62", "Rosa", "Quillern", "F", "1927-05-22", "2012-09-09", also=(("married", "Rosa /Steen/"),)),
    Person("I63", "Viktor", "Quillern", "M", "1930-02-06", "2003-05-19"),
    Person("I65", "Silvan", "Quillern", "M", "1924-07-04", "2006-10-31", died="", place=PORT,
           also=(("nickname", "Sil /Quillern/"),)),
    Person("I66", "Bettina", "Quillern", "F", "1928-11-14", "2015-01-01", died="", place=PORT),
    # Those they married
    Person("I67", "Agnes", "Rolle", "F", "1925-05-04", "2011-08-28", also=(("married", "Agnes /Quillern/"),)),
    Person("I70", "Henrik", "Vale", "M", "1922-07-27", "1998-02-15"),
    Person("I73", "Karl", "Brennock", "M", "1901-04-30", "1978-12-02", born="ABT 1901"),
    Person("I76", "Jakob", "Steen", "M", "1924-12-12", "2007-03-30"),
    Person("I78", "Dolores", "Finchley", "F", "1929-09-01", "2018-04-04", died="", place=PORT,
           also=(("nickname", "Dolly /Finchley/"),)),
    Person("I81", "Lena", "Marwick", "F", "1944-03-28", also=(("married", "Lena /Quillern/"),)),
    # The youngest
    Person("I68", "Judith", "Quillern", "F", "1950-10-03", note="Scanned the box in 2024 and 2025."),
    Person("I69", "Martin", "Quillern", "M", "1953-07-19"),
    Person("I71", "Susanne", "Vale", "F", "1952-02-29"),
    Person("I72", "Thomas", "Vale", "M", "1956-05-16"),
    Person("I74", "Ilse", "Brennock", "F", "1933-01-11", "2019-10-10"),
    Person("I75", "Ambrose", "Brennock", "M", "1937-03-27", also=(("nickname", "Brose /Brennock/"),)),
    Person("I77", "Emilia", "Steen", "F", "1951-08-14"),
    Person("I79", "Gail", "Quillern", "F", "1954-04-21", born="1954", place=PORT),
    Person("I80", "Robert", "Quillern", "M", "1957-12-17", place=PORT),
    Person("I82", "Anna", "Quillern", "F", "1976-04-09"),
)  # fmt: skip

FAMILIES: tuple[Family, ...] = (
    Family("F1", "I1", "I2", ("I4", "I5", "I6"), "1847-06-12", wed="JUN 1847"),
    Family("F2", "I1", "I3", ("I7", "I8", "I9", "I10"), "1860-10-14", wed="BEF 1862"),
    Family("F3", "I4", "I11", ("I17", "I18", "I19", "I20"), "1873-05-12"),
    Family("F4", "I12", "I5", ("I21", "I22", "I23"), "1876-09-02"),
    Family("F5", "I7", "I13", ("I24", "I25", "I26", "I27"), "1888-10-06"),
    Family("F6", "I14", "I8", ("I28", "I29", "I30"), "1886-04-26"),
    Family("F7", "I9", "I15", ("I31", "I32"), "1895-05-18"),
    Family("F8", "I9", "I16", ("I33", "I34"), "1906-06-30", wed="1906"),
    Family("F9", "I17", "I35", ("I41", "I42", "I43"), "1900-05-12"),
    Family("F10", "I36", "I18", ("I44", "I45"), "1899-10-28", wed="ABT 1899"),
    Family("F11", "I37", "I19", ("I47", "I46"), "1909-07-17", adopted=("I46",)),
    Family("F12", "I20", "I38", ("I48",), "1911-09-09"),
    Family("F13", "I39", "I22", ("I49", "I50"), "1904-08-20"),
    Family("F14", "I24", "I51", ("I52", "I53", "I54"), "1921-06-11"),
    Family("F15", "I55", "I25", ("I56", "I57"), "1919-05-24"),
    Family("F16", "I58", "I29", ("I59", "I60"), "1913-04-19"),
    Family("F17", "I40", "I61", ("I62", "I63"), "1926-06-05", wed="BET 1925 AND 1927"),
    Family("F18", "I31", "I64", ("I65", "I66"), "1922-09-30", wed="", place=PORT),
    Family("F19", "I52", "I67", ("I68", "I69"), "1948-08-21"),
    Family("F20", "I70", "I53", ("I71", "I72"), "1950-06-10"),
    Family("F21", "I73", "I42", ("I74", "I75"), "1931-04-18"),
    Family("F22", "I76", "I62", ("I77",), "1949-10-01", wed="OCT 1949"),
    Family("F23", "I65", "I78", ("I79", "I80"), "1951-02-03", wed="", place=PORT),
    Family("F24", "I54", "I81", ("I82",), "1969-09-13"),
    Family("F25", "", "I10", ("I40",), note="The father is not known."),
)

BY_ID = {person.id: person for person in PEOPLE}


def age_on(person: Person, day: date) -> float:
    """The true age in years on a day, with fractions."""
    return (day - date.fromisoformat(person.birth)).days / 365.2425


def gedcom_day(iso: str) -> str:
    """`1848-04-17` as `17 APR 1848`."""
    day = date.fromisoformat(iso)
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def _as_told(told: str | None, truth: str) -> str:
    """What the tree says: its own words, or the true day where it has none of its own."""
    if told is not None:
        return told
    return gedcom_day(truth) if truth else ""


def _event(tag: str, when: str, place: str = "") -> list[str]:
    """The lines of one event; none at all when the tree says nothing of it."""
    if not when:
        return []
    return [f"1 {tag}", f"2 DATE {when}"] + ([f"2 PLAC {place}"] if place else [])


def _names(person: Person) -> list[str]:
    lines = [f"1 NAME {person.given} /{person.surname}/", f"2 GIVN {person.given}", f"2 SURN {person.surname}"]
    for kind, name in person.also:
        lines += [f"1 NAME {name}", f"2 TYPE {kind}"]
    return lines


def _person_lines(person: Person) -> list[str]:
    """One INDI record."""
    lines = [f"0 @{person.id}@ INDI", *_names(person), f"1 SEX {person.sex}"]
    lines += _event("BIRT", _as_told(person.born, person.birth), person.place)
    lines += _event("CHR", person.christened, person.place)
    if person.death:
        lines += _event("DEAT", _as_told(person.died, person.death))
    lines += _event("BURI", person.buried, TOWN)
    if person.work:
        lines.append(f"1 OCCU {person.work}")
    if person.id == "I9":
        lines += _event("EMIG", "1909", PORT)
    if person.note:
        lines.append(f"1 NOTE {person.note}")
    for family in FAMILIES:
        if person.id in family.children:
            lines.append(f"1 FAMC @{family.id}@")
            if person.id in family.adopted:
                lines.append("2 PEDI adopted")
        if person.id in (family.husband, family.wife):
            lines.append(f"1 FAMS @{family.id}@")
    return lines


def _family_lines(family: Family) -> list[str]:
    """One FAM record."""
    lines = [f"0 @{family.id}@ FAM"]
    lines += [f"1 HUSB @{family.husband}@"] if family.husband else []
    lines += [f"1 WIFE @{family.wife}@"] if family.wife else []
    lines += [f"1 CHIL @{child}@" for child in family.children]
    if family.married:
        lines += _event("MARR", _as_told(family.wed, family.married), family.place) or ["1 MARR Y"]
    lines += [f"1 NOTE {family.note}"] if family.note else []
    return lines


def gedcom() -> str:
    """The tree as GEDCOM 5.5.1."""
    head = ["0 HEAD", "1 SOUR QUILLERN", "2 NAME Typed from Aunt Nora's copybook", "1 SUBM @U1@", "1 GEDC",
            "2 VERS 5.5.1", "2 FORM LINEAGE-LINKED", "1 CHAR UTF-8", "0 @U1@ SUBM", "1 NAME Judith Quillern"]  # fmt: skip
    body = [line for person in PEOPLE for line in _person_lines(person)]
    body += [line for family in FAMILIES for line in _family_lines(family)]
    return "\n".join([*head, *body, "0 TRLR", ""])


if __name__ == "__main__":
    (HERE / "family.ged").write_text(gedcom(), encoding="utf-8")

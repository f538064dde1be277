"""The words of a date in each language: one table a language, and nothing of it anywhere else.

To add a language, add its table and name it in `LANGUAGES`. Words may be written with capitals and accents or
without; `vernacular` folds both away. Alternatives are separated by `|`, since some have several words. Every group is
named after what it means in English, the language `spoken` and `on_photographs` read. Words are from memory.

A word that means different things in two languages stands in `phrases` with its context: "fra 1900 til 1905" is
Norwegian, "fra il 1900 e il 1905" Italian.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True, kw_only=True)
class Language:
    """One language. A day's ending is that of an ordinal number (12th), a decade's that of "1930s"."""

    months: tuple[str, ...]
    """Twelve, each with its older names and abbreviations."""
    unclear_months: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    """Names that stood for different months in different places: whoever gives one is asked."""
    weekdays: tuple[str, ...] = ()
    """Seven, from Monday. They are left out, or decide between two readings."""
    seasons: Mapping[str, str] = field(default_factory=dict)
    feasts: Mapping[str, str] = field(default_factory=dict)
    """Named as in `feasts.FEASTS`."""
    parts: Mapping[str, str] = field(default_factory=dict)
    """Early, mid, late: of a month, a season, a year, a decade, a century."""
    joined: Mapping[str, str] = field(default_factory=dict)
    """The same written as the beginning of a season's name: Spätsommer."""
    decades: Mapping[str, str] = field(default_factory=dict)
    wars: Mapping[str, str] = field(default_factory=dict)
    about: str = ""
    before: str = ""
    after: str = ""
    since: str = ""
    until: str = ""
    either: str = ""
    """What stands between two dates of which one is meant."""
    denied: str = ""
    """Before a date: it is said not to be meant."""
    perhaps: str = ""
    within: str = ""
    """In, at, on, during: they say nothing more than the date after them."""
    counted: str = ""
    """A year where years are counted: two years before."""
    article: str = ""
    """The, and what stands between a part and the whole."""
    year: str = ""
    """Names a year as one: "anno 1898"."""
    day_endings: str = ""
    decade_endings: str = ""
    century: str = ""
    undated: str = ""
    relative: str = ""
    """What counts from a day that nobody knows any more: yesterday, last year."""
    no_years_after: str = ""
    """Words after which a number is no date of the picture: "No. 1924", "born 1890"."""
    no_years_before: str = ""
    """The same of the word after it: "1912 feet"."""
    phrases: tuple[tuple[str, str], ...] = ()
    """Whatever depends on its context, as regular expressions on a date in capitals without accents."""


def _counted(years: str, sides: str, numbers: str, article: str = "") -> tuple[tuple[str, str], ...]:
    """The phrases for "two years before": numbers as words, from one on, become figures."""
    return tuple(
        (rf"^(?:{number}) (?:{years}) ({sides}) {article}(?=\S)", rf"{figure} YEARS \1 ")
        for figure, number in enumerate(numbers.split(), 1)
    )


ENGLISH = Language(
    months=(
        "January|Jan", "February|Feb|Febr", "March|Mar", "April|Apr", "May", "June|Jun", "July|Jul", "August|Aug",
        "September|Sep|Sept", "October|Oct", "November|Nov", "December|Dec",
    ),
    weekdays=(
        "Monday|Mon", "Tuesday|Tues|Tue", "Wednesday|Wed", "Thursday|Thurs|Thur|Thu", "Friday|Fri", "Saturday|Sat",
        "Sunday|Sun",
    ),
    seasons={"spring": "spring|springtime", "summer": "summer|summertime", "autumn": "autumn|fall", "winter": "winter"},
    feasts={
        "New Year": "New Year|New Years|New Year's|New Year's Day|New Years Day|New Year Day",
        "New Year's Eve": "New Year's Eve|New Years Eve|New Year Eve|Hogmanay|Old Year's Night",
        "Epiphany": "Epiphany|Twelfth Night|Twelfth Day",
        "Candlemas": "Candlemas",
        "carnival": "carnival",
        "Shrove Tuesday": "Shrove Tuesday|Pancake Day|Mardi Gras",
        "Ash Wednesday": "Ash Wednesday",
        "Palm Sunday": "Palm Sunday",
        "Holy Week": "Holy Week",
        "Maundy Thursday": "Maundy Thursday",
        "Good Friday": "Good Friday",
        "Holy Saturday": "Holy Saturday|Easter Saturday|Easter Eve",
        "Easter": "Easter|Eastertide|Easter weekend|Easter holiday|Easter holidays",
        "Easter Sunday": "Easter Sunday|Easter Day",
        "Easter Monday": "Easter Monday",
        "Easter week": "Easter week",
        "Low Sunday": "Low Sunday",
        "Ascension": "Ascension|Ascension Day",
        "Whitsun": "Whitsun|Whitsuntide|Pentecost|Whit weekend",
        "Whit Sunday": "Whit Sunday|Whitsunday|Pentecost Sunday",
        "Whit Monday": "Whit Monday|Whitmonday|Pentecost Monday",
        "Whit week": "Whit week|Whitweek",
        "Trinity Sunday": "Trinity Sunday",
        "Corpus Christi": "Corpus Christi",
        "May Day": "May Day|Mayday",
        "Empire Day": "Empire Day",
        "Midsummer": "Midsummer|Midsummer Day|Midsummer's Day|St John's Day",
        "Independence Day": "Independence Day|Fourth of July",
        "August Bank Holiday": "August Bank Holiday",
        "Assumption": "Assumption|Assumption Day",
        "Michaelmas": "Michaelmas",
        "Halloween": "Halloween|Hallowe'en",
        "All Saints": "All Saints|All Saints' Day|All Saints Day|All Hallows",
        "All Souls": "All Souls|All Souls' Day|All Souls Day",
        "Bonfire Night": "Bonfire Night|Guy Fawkes|Guy Fawkes Night|Guy Fawkes Day",
        "Martinmas": "Martinmas|Armistice Day",
        "Thanksgiving": "Thanksgiving|Thanksgiving Day",
        "Advent": "Advent|Advent season",
        "Advent Sunday": "Advent Sunday|first Sunday of Advent|1st Sunday of Advent|first Sunday in Advent",
        "St Nicholas": "St Nicholas|St Nicholas' Day|St Nicholas Day|Saint Nicholas",
        "Christmas": "Christmas|Xmas|X-mas|Yuletide|Christmas time|Christmastime|Christmas holidays",
        "Christmas Eve": "Christmas Eve|Xmas Eve|X-mas Eve",
        "Christmas Day": "Christmas Day|Xmas Day|X-mas Day",
        "Boxing Day": "Boxing Day|St Stephen's Day",
    },
    parts={
        "early": "early|beginning|start|the beginning|the start", "mid": "mid|middle|the middle|high",
        "late": "late|end|the end|towards the end|toward the end|near the end",
    },
    decades={
        "teens": "teens", "twenties": "twenties|roaring twenties", "thirties": "thirties", "forties": "forties",
        "fifties": "fifties", "sixties": "sixties", "seventies": "seventies", "eighties": "eighties",
        "nineties": "nineties",
    },
    wars={
        "First World War": "First World War|Great War|World War I|World War 1|World War One|WWI|WW1|WW I|WW 1|"
                           "1st World War|first war",
        "Second World War": "Second World War|World War II|World War 2|World War Two|WWII|WW2|WW II|WW 2|"
                            "2nd World War|second war",
        "wartime": "the war|war years|the war years|wartime|time of the war|the time of the war",
        "before wartime": "prewar|pre-war",
        "after wartime": "postwar|post-war",
        "interwar": "interwar|inter-war|interwar years|between the wars|between the two wars|"
                            "between the World Wars",
        "turn of century": "turn of the century|the turn of the century|turn of the 20th century|"
                           "turn of the twentieth century",
    },
    about="about|around|abt|approximately|approx|roughly|circa|ca|c|~",
    before="before|by",
    after="after",
    since="since|not before|not earlier than|no earlier than|at the earliest|at the very earliest|in or after|"
          "on or after",
    until="until|till|up to|not after|not later than|no later than|at the latest|at the very latest|in or before|"
          "on or before|before or in",
    either="or|or was it|or was it in|or maybe|or perhaps|or possibly|or even|or else",
    denied="not|never|nor|neither",
    perhaps="perhaps|probably|maybe|possibly|presumably",
    within="in|on|during|at|sometime|some time|dated|taken|the year|in the year",
    counted="year|years",
    article="the|of|of the",
    year="anno|anno domini|year",
    day_endings="st|nd|rd|th",
    decade_endings="s|'s",
    century="century",
    undated="unknown|undated|not known|no date|n.d.|n. d.|n d|nd|none",
    relative="ago|yesterday|today|tomorrow|last|recently",
    no_years_after="no|nr|num|number|neg|negative|plate|page|p|tel|telephone|phone|box|room|flat|born|b|died|aged|age|£|$",
    no_years_before="feet|ft|yards|miles|lb|lbs|pounds|people",
    phrases=(
        (r"^EITHER (?=\d)", ""),
        (r"^(.+?),? (?:AT THE (?:VERY )?LATEST|OR (?:EARLIER|BEFORE))$", r"UNTIL \1"),
        (r"^(.+?),? (?:AT THE (?:VERY )?EARLIEST|(?:OR|AND) (?:LATER|AFTER)|ONWARDS?)$", r"SINCE \1"),
        (r"^FROM (\S+|\D+ \d{4}) ON$", r"SINCE \1"),
        *_counted("YEARS?", "BEFORE|AFTER", "A|ONE|THE TWO THREE FOUR FIVE SIX SEVEN EIGHT NINE TEN"),
        (r"^(?:ABOUT |AROUND )?(.+?),? OR (?:SO|THEREABOUTS)$", r"ABOUT \1"),
        (r"^(\d{4}|\d{3}0S)[- ]?ISH$", r"ABOUT \1"),
    ),
)  # fmt: skip

GERMAN = Language(
    months=(
        "Januar|Jänner|Jan|Jän|Januarius|Hartung|Hartmonat|Eismond|Eismonat|Schneemond",
        "Februar|Feber|Feb|Febr|Hornung",
        "März|Maerz|Mrz|Lenzing|Lenzmond|Lenzmonat",
        "April|Apr|Ostermond|Ostermonat|Launing",
        "Mai|Wonnemond|Wonnemonat|Maien",
        "Juni|Jun|Juno|Brachet|Brachmond|Brachmonat",
        "Juli|Jul|Julei|Heuet|Heuert|Heumond|Heumonat",
        "August|Aug|Augst|Ernting|Erntemond|Erntemonat",
        "September|Sep|Sept|Scheiding|Herbsting|Herbstmond|7ber|VIIber",
        "Oktober|Okt|October|Oct|Gilbhart|Gilbhard|Weinmond|Weinmonat|8ber|VIIIber",
        "November|Nov|Nebelung|Nebelmond|Windmonat|9ber|IXber",
        "Dezember|Dez|December|Christmond|Christmonat|Julmond|Heilmond|10ber|Xber",
    ),
    unclear_months={"Wintermonat": (11, 12, 1), "Wintermond": (11, 12, 1), "Herbstmonat": (9, 10, 11)},
    weekdays=(
        "Montag|Mo", "Dienstag|Di", "Mittwoch|Mi", "Donnerstag|Do", "Freitag|Fr", "Samstag|Sonnabend|Sa", "Sonntag|So",
    ),
    seasons={
        "spring": "Frühling|Frühjahr|Lenz|Kriegsfrühling", "summer": "Sommer|Sommers|Kriegssommer",
        "autumn": "Herbst|Herbstes|Kriegsherbst", "winter": "Winter|Winters|Kriegswinter",
    },
    feasts={
        "New Year": "Neujahr|Neujahrstag|Neujahr's",
        "New Year's Eve": "Silvester|Sylvester|Silvesterabend|Sylvesterabend|Altjahrsabend",
        "Epiphany": "Dreikönig|Dreikönige|Dreikönigstag|Heilige Drei Könige|Hl. Drei Könige|Epiphanias",
        "Candlemas": "Lichtmess|Mariä Lichtmess|Lichtmeß|Mariä Lichtmeß",
        "carnival": "Fasching|Karneval|Fastnacht|Fasnacht|Fasnet",
        "Rose Monday": "Rosenmontag",
        "Shrove Tuesday": "Faschingsdienstag|Fastnachtsdienstag|Veilchendienstag",
        "Ash Wednesday": "Aschermittwoch",
        "Palm Sunday": "Palmsonntag",
        "Holy Week": "Karwoche|Charwoche",
        "Maundy Thursday": "Gründonnerstag",
        "Good Friday": "Karfreitag|Charfreitag",
        "Holy Saturday": "Karsamstag|Ostersamstag|Ostersonnabend",
        "Easter": "Ostern|Osterfest|Kriegsostern|Osterferien|Osterfeiertage",
        "Easter Sunday": "Ostersonntag|Ostertag|1. Ostertag|1. Osterfeiertag",
        "Easter Monday": "Ostermontag|2. Ostertag|2. Osterfeiertag",
        "Easter week": "Osterwoche",
        "Low Sunday": "Weißer Sonntag|Weissen Sonntag|Weißen Sonntag|Quasimodogeniti",
        "Ascension": "Himmelfahrt|Christi Himmelfahrt|Himmelfahrtstag|Vatertag",
        "Whitsun": "Pfingsten|Pfingstfest|Pfingstfeiertage|Kriegspfingsten|Pfingstferien",
        "Whit Sunday": "Pfingstsonntag|1. Pfingsttag|1. Pfingstfeiertag",
        "Whit Monday": "Pfingstmontag|2. Pfingsttag|2. Pfingstfeiertag",
        "Whit Tuesday": "Pfingstdienstag",
        "Whit week": "Pfingstwoche",
        "Trinity Sunday": "Trinitatis|Dreifaltigkeitssonntag",
        "Corpus Christi": "Fronleichnam|Fronleichnamstag",
        "May Day": "Maifeiertag|Tag der Arbeit",
        "Midsummer": "Johanni|Johannis|Johannistag|Sonnwend|Sonnwendfeier",
        "Peter and Paul": "Peter und Paul|Peter und Paulstag",
        "Assumption": "Mariä Himmelfahrt|Maria Himmelfahrt",
        "Sedantag": "Sedantag|Sedanstag|Sedanfeier",
        "Michaelmas": "Michaeli|Michaelis",
        "Reformation Day": "Reformationsfest|Reformationstag",
        "All Saints": "Allerheiligen",
        "All Souls": "Allerseelen",
        "Martinmas": "Martini|Martinstag",
        "Totensonntag": "Totensonntag|Todtensonntag|Ewigkeitssonntag",
        "Advent": "Advent|Adventszeit",
        "Advent Sunday": "1. Advent|erster Advent|ersten Advent|1. Adventssonntag",
        "second Advent Sunday": "2. Advent|zweiter Advent|zweiten Advent|2. Adventssonntag",
        "third Advent Sunday": "3. Advent|dritter Advent|dritten Advent|3. Adventssonntag",
        "fourth Advent Sunday": "4. Advent|vierter Advent|vierten Advent|4. Adventssonntag",
        "St Nicholas": "Nikolaus|Nikolaustag|Nikolo",
        "Christmas": "Weihnachten|Weihnacht|Weihnachtsfest|Weihnachtszeit|Kriegsweihnacht|Kriegsweihnachten|"
                     "Weihnachtsferien|Weihnachtsfeiertage|Christfest|Julfest",
        "Christmas Eve": "Heiligabend|Heiliger Abend|Heiligen Abend|Hl. Abend|Weihnachtsabend|Christabend",
        "Christmas Day": "Weihnachtstag|1. Weihnachtstag|1. Weihnachtsfeiertag|Christtag",
        "Boxing Day": "2. Weihnachtstag|2. Weihnachtsfeiertag|Stephanstag|Stefanitag|Stephanitag",
    },
    parts={
        "early": "Anfang|Beginn|Anfangs|frühe|frühen", "mid": "Mitte", "late": "Ende|Ausgang|späte|späten|gegen Ende",
    },
    joined={"early": "Früh|Vor", "mid": "Hoch|Mitt", "late": "Spät"},
    decades={
        "twenties": "zwanziger|zwanziger Jahre|zwanziger Jahren|goldene zwanziger|goldenen zwanziger",
        "thirties": "dreißiger|dreißiger Jahre|dreißiger Jahren|dreissiger|dreissiger Jahre|dreissiger Jahren",
        "forties": "vierziger|vierziger Jahre|vierziger Jahren",
        "fifties": "fünfziger|fünfziger Jahre|fünfziger Jahren",
        "sixties": "sechziger|sechziger Jahre|sechziger Jahren",
        "seventies": "siebziger|siebziger Jahre|siebziger Jahren",
        "eighties": "achtziger|achtziger Jahre|achtziger Jahren",
        "nineties": "neunziger|neunziger Jahre|neunziger Jahren",
    },
    wars={
        "First World War": "Erster Weltkrieg|Ersten Weltkrieg|Ersten Weltkriegs|Ersten Weltkrieges|1. Weltkrieg|"
                               "I. Weltkrieg",
        "Second World War": "Zweiter Weltkrieg|Zweiten Weltkrieg|Zweiten Weltkriegs|Zweiten Weltkrieges|"
                                "2. Weltkrieg|II. Weltkrieg",
        "wartime": "Krieg|Kriege|Krieges|Weltkrieg|Weltkriege|Kriegszeit|Kriegsjahre|Kriegsjahren|Kriegstagen",
        "before wartime": "Vorkriegszeit", "after wartime": "Nachkriegszeit",
        "interwar": "Zwischenkriegszeit|zwischen den Kriegen|zwischen den Weltkriegen",
        "turn of century": "Jahrhundertwende|um die Jahrhundertwende",
    },
    about="um|um das Jahr|etwa|ungefähr|rund|gegen|zirka|circa|ca|so um|herum um",
    before="vor|vor dem Jahr",
    after="nach|nach dem Jahr",
    since="seit|ab|frühestens|nicht vor|nicht früher als",
    until="bis|spätestens|bis spätestens|nicht nach|nicht später als",
    either="oder|oder war es|oder war das|oder vielleicht|oder auch",
    denied="nicht|nie|niemals|kein|keinesfalls",
    perhaps="wohl|vermutlich|vielleicht|wahrscheinlich|möglicherweise|evtl|verm|vllt",
    within="im|in|am|an|zu|zur|zum|während|aufgenommen|datiert",
    counted="Jahr|Jahre",
    article="der|die|das|den|dem|des|d",
    year="Jahr|Jahre|Jahres|i. J.|anno|Kriegsjahr",
    day_endings="ten|te|ter|tn|t",
    decade_endings="er Jahre|er Jahren|er-Jahre|er-Jahren|er",
    century="Jahrhundert|Jahrhunderts|Jh|Jhd|Jhdt",
    undated="unbekannt|undatiert|ohne Datum|ohne Jahr|o. D.|o. J.|o.D.|o.J.|nicht bekannt",
    relative="gestern|heute|morgen|letzten|letztes|letzte|voriges|vorigen|neulich",
    no_years_after="Nr|Nummer|Neg|Platte|Seite|S|Tel|Telefon|Haus|Zimmer|geb|geboren|gest|gestorben|Alter|*|†",
    no_years_before="m|km|Mark|Mk|Kronen|Gulden|Fuß|Personen|Leute|Mann",
    phrases=(
        (r"^(?:ZWISCHEN|ZW\.?) (?:DEM |DEN )?(.+) (?:UND|U\.) (?:DEM |DEN )?(.+)$", r"BETWEEN \1 AND \2"),
        (r"^VO[NM] (.+) BIS (?:ZUM? )?(.+)$", r"FROM \1 TO \2"),
        (r"^ENTWEDER (?=\d)", ""),
        (r"^(.+?),? (?:SPATESTENS|OR FRUHER)$", r"UNTIL \1"),
        (r"^(.+?),? (?:FRUHESTENS|OR SPATER)$", r"SINCE \1"),
        *_counted("JAHRE?", "VOR|NACH", "EIN|DAS ZWEI DREI VIER FUNF SECHS SIEBEN ACHT NEUN ZEHN", "(?:DEM )?"),
        (r"^(\d+ YEARS) VOR ", r"\1 BEFORE "),
        (r"^(\d+ YEARS) NACH ", r"\1 AFTER "),
        (r"^(?:SO )?(?:UM |ABOUT )?(\d{4}) (?:HERUM|RUM)$", r"ABOUT \1"),
        (r"^KURZ (VOR|NACH) (?:DEM )?(?=\d|WARTIME|FIRST WORLD|SECOND WORLD)", r"SHORTLY \1 "),
        (r"^SHORTLY VOR ", "SHORTLY BEFORE "),
        (r"^SHORTLY NACH ", "SHORTLY AFTER "),
    ),
)  # fmt: skip

FRENCH = Language(
    months=(
        "janvier|janv", "février|fevr|fev", "mars", "avril|avr", "mai", "juin", "juillet|juil", "août",
        "septembre|7bre", "octobre|8bre", "novembre|9bre", "décembre|Xbre",
    ),
    seasons={"spring": "printemps", "summer": "été", "autumn": "automne", "winter": "hiver"},
    feasts={
        "Easter": "Pâques", "Easter Monday": "lundi de Pâques", "Whitsun": "Pentecôte",
        "Ascension": "jour de l'Ascension",
        "All Saints": "Toussaint", "Christmas": "Noël", "New Year": "jour de l'an",
    },
    parts={"early": "début", "late": "fin"},
    about="vers|environ|env|aux environs de|aux environs",
    before="avant",
    after="après",
    since="depuis",
    until="jusqu'en",
    either="ou|ou bien|ou peut-être",
    article="l'|le",
    year="l'an",
    phrases=(
        (r"^ENTRE (.+) ET (.+)$", r"BETWEEN \1 AND \2"), (r"^DE (.+) A (.+)$", r"FROM \1 TO \2"),
        (r"^LE (?=\d)", ""),
    ),
)  # fmt: skip

DUTCH = Language(
    months=(
        "januari", "februari", "maart|mrt", "april", "mei", "juni", "juli", "augustus", "september", "oktober|okt",
        "november", "december",
    ),
    seasons={"spring": "lente|voorjaar", "summer": "zomer", "autumn": "herfst|najaar"},
    feasts={"Easter": "Pasen", "Whitsun": "Pinksteren", "Christmas": "Kerstmis|Kerst"},
    about="omstreeks|ongeveer|rond|omstr",
    before="voor",
    after="na",
    since="sinds",
    until="tot",
    phrases=(
        (r"^TUSSEN (.+) EN (.+)$", r"BETWEEN \1 AND \2"), (r"^VAN (.+) TOT (.+)$", r"FROM \1 TO \2"),
        (r"^(\d{4}) OF (\d{4})$", r"BETWEEN \1 AND \2"), (r"^OP (?=\d)", ""),
    ),
)  # fmt: skip

SPANISH = Language(
    months=(
        "enero|ene", "febrero", "marzo", "abril|abr", "mayo", "junio", "julio", "agosto|ago", "septiembre|setiembre",
        "octubre", "noviembre", "diciembre|dic",
    ),
    seasons={"spring": "primavera", "summer": "verano", "autumn": "otoño", "winter": "invierno"},
    feasts={"Christmas": "Navidad"},
    about="hacia|alrededor de|alrededor del|alrededor|aproximadamente|sobre",
    before="antes de|antes del|antes",
    after="después de|después del|después|tras",
    since="desde",
    until="hasta",
    either="o",
    phrases=(
        (r"^ENTRE (?:EL )?(.+) Y (?:EL )?(.+)$", r"BETWEEN \1 AND \2"), (r"^DESDE (.+) HASTA (.+)$", r"FROM \1 TO \2"),
        (r"^EL (?=\d)", ""),
        (r"(?<=[\dA-Z]) (?:DE|DEL) (?=[\dA-Z])", " "),
    ),
)  # fmt: skip

ITALIAN = Language(
    months=(
        "gennaio|genn|gen", "febbraio|febbr", "marzo", "aprile", "maggio|mag", "giugno|giu", "luglio|lug",
        "agosto|ago", "settembre|sett", "ottobre|ott", "novembre", "dicembre",
    ),
    seasons={"spring": "primavera", "summer": "estate", "autumn": "autunno", "winter": "inverno"},
    feasts={"Easter": "Pasqua", "Easter Monday": "Pasquetta", "Christmas": "Natale"},
    about="intorno al|intorno a|verso|verso il",
    before="prima del|prima di|prima",
    after="dopo|dopo il",
    since="dal",
    until="fino al",
    phrases=(
        (r"^(?:TRA|FRA) (?:IL )?(.+) E (?:IL )?(.+)$", r"BETWEEN \1 AND \2"), (r"^DAL (.+) AL (.+)$", r"FROM \1 TO \2"),
        (r"^IL (?=\d)", ""), (r"(?<=[\dA-Z]) DI (?=[\dA-Z])", " "),
    ),
)  # fmt: skip

SCANDINAVIAN = Language(
    months=(
        "januar|januari", "februar|februari", "mars|marts", "april", "mai|maj", "juni", "juli", "august|augusti",
        "september", "oktober|okt", "november", "desember|december",
    ),
    seasons={"spring": "vår|forår", "summer": "sommer|sommar", "autumn": "høst|höst|efterår"},
    feasts={
        "Easter": "påske|påsk", "Whitsun": "pinse|pingst", "Midsummer": "midsommar|sankthans|sankt hans",
        "Christmas": "julen|juletid", "Christmas Eve": "julaften|julafton|juleaften",
    },
    about="omkring|omkr|omtrent|cirka|runt|cirka år",
    before="før|före|innan|inden",
    after="etter|efter",
    since="siden|sedan",
    until="til|till",
    either="eller",
    article="den",
    year="år",
    decade_endings="-tallet|-talet|erne",
    phrases=(
        (r"^MELL[OEA][MN] (.+) (?:OG|OCH) (.+)$", r"BETWEEN \1 AND \2"),
        (r"^(?:FRA|FRAN) (.+) TILL? (.+)$", r"FROM \1 TO \2"),
        (r"\bDES\.? (?=\d{4}$)", "DEC "),
    ),
)  # fmt: skip
"""Danish, Norwegian and Swedish, which share most of these words."""

LANGUAGES = {
    "English": ENGLISH, "German": GERMAN, "French": FRENCH, "Dutch": DUTCH, "Spanish": SPANISH, "Italian": ITALIAN,
    "Scandinavian": SCANDINAVIAN,
}  # fmt: skip

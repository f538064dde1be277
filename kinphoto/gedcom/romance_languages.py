"""The words of a date in French, Spanish, Italian and Portuguese, as `languages` explains."""

from __future__ import annotations

from kinphoto.gedcom.language import Language

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
    parts={"early": "début|début des|au début des", "mid": "milieu des", "late": "fin|fin des|à la fin des"},
    decades={
        "twenties": "années vingt|années folles", "thirties": "années trente", "forties": "années quarante",
        "fifties": "années cinquante", "sixties": "années soixante", "seventies": "années soixante-dix",
        "eighties": "années quatre-vingt|années quatre-vingts",
    },
    wars={
        "First World War": "Première Guerre mondiale|la Première Guerre mondiale|Première Guerre|Grande Guerre|"
                           "la Grande Guerre|guerre de 14|la guerre de 14|guerre de 14-18|la guerre de 14-18",
        "Second World War": "Seconde Guerre mondiale|la Seconde Guerre mondiale|Deuxième Guerre mondiale|"
                            "la Deuxième Guerre mondiale|guerre de 39-45|la guerre de 39-45",
        "wartime": "la guerre|années de guerre",
        "before wartime": "avant-guerre|l'avant-guerre|avant guerre",
        "after wartime": "après-guerre|l'après-guerre|après guerre",
        "interwar": "entre-deux-guerres|l'entre-deux-guerres|entre les deux guerres|entre deux guerres",
    },
    about="vers|environ|env|aux environs de|aux environs",
    before="avant",
    after="après",
    since="depuis",
    until="jusqu'en",
    either="ou|ou bien|ou peut-être",
    article="l'|le|les|des",
    within="dans|pendant|durant|en",
    year="l'an",
    phrases=(
        (r"\bANNEES '?(\d0)\b", r"\1S"),
        (r"^ENTRE (.+) ET (.+)$", r"BETWEEN \1 AND \2"), (r"^DE (.+) A (.+)$", r"FROM \1 TO \2"),
        (r"^LE (?=\d)", ""),
    ),
)  # fmt: skip

SPANISH = Language(
    months=(
        "enero|ene", "febrero", "marzo", "abril|abr", "mayo", "junio", "julio", "agosto|ago", "septiembre|setiembre",
        "octubre", "noviembre", "diciembre|dic",
    ),
    seasons={"spring": "primavera", "summer": "verano", "autumn": "otoño", "winter": "invierno"},
    feasts={"Christmas": "Navidad"},
    decades={
        "twenties": "años veinte", "thirties": "años treinta", "forties": "años cuarenta",
        "fifties": "años cincuenta", "sixties": "años sesenta", "seventies": "años setenta",
        "eighties": "años ochenta",
    },
    wars={"First World War": "Primera Guerra Mundial", "Second World War": "Segunda Guerra Mundial"},
    about="hacia|alrededor de|alrededor del|alrededor|aproximadamente|sobre",
    before="antes de|antes del|antes",
    after="después de|después del|después|tras",
    since="desde",
    until="hasta",
    either="o",
    phrases=(
        (r"^ENTRE (?:EL )?(.+) Y (?:EL )?(.+)$", r"BETWEEN \1 AND \2"), (r"^DESDE (.+) HASTA (.+)$", r"FROM \1 TO \2"),
        (r"^EL (?=\d)", ""), (r"\bANOS '?(\d0)\b", r"\1S"),
        (r"^(?:EN )?(?:LOS|LA) (?=\d0S|[A-Z]+TIES|[A-Z]+ WORLD WAR)", ""),
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
    decades={
        "twenties": "anni Venti", "thirties": "anni Trenta", "forties": "anni Quaranta",
        "fifties": "anni Cinquanta", "sixties": "anni Sessanta", "seventies": "anni Settanta",
        "eighties": "anni Ottanta",
    },
    wars={
        "First World War": "Prima guerra mondiale|la Prima guerra mondiale",
        "Second World War": "Seconda guerra mondiale|la Seconda guerra mondiale",
    },
    about="intorno al|intorno a|verso|verso il",
    before="prima del|prima di|prima",
    after="dopo|dopo il",
    since="dal",
    until="fino al",
    phrases=(
        (r"^(?:TRA|FRA) (?:IL )?(.+) E (?:IL )?(.+)$", r"BETWEEN \1 AND \2"), (r"^DAL (.+) AL (.+)$", r"FROM \1 TO \2"),
        (r"^IL (?=\d)", ""), (r"(?<=[\dA-Z]) DI (?=[\dA-Z])", " "),
        (r"\bANNI '?(\d0)\b", r"\1S"), (r"^(?:NEGLI|GLI) (?=\d0S|[A-Z]+TIES)", ""),
    ),
)  # fmt: skip

PORTUGUESE = Language(
    months=(
        "janeiro|jan", "fevereiro|fev", "março", "abril|abr", "maio", "junho", "julho", "agosto|ago", "setembro",
        "outubro", "novembro", "dezembro|dez",
    ),
    weekdays=(
        "segunda-feira|segunda feira|2ª feira", "terça-feira|terça feira|3ª feira", "quarta-feira|quarta feira",
        "quinta-feira|quinta feira", "sexta-feira|sexta feira", "sábado", "domingo",
    ),
    seasons={
        "spring": "primavera|na primavera", "summer": "verão|no verão", "autumn": "outono|no outono",
        "winter": "inverno|no inverno",
    },
    feasts={
        "New Year": "Ano Novo|no Ano Novo|dia de Ano Novo", "New Year's Eve": "véspera de Ano Novo",
        "Epiphany": "dia de Reis|Dia dos Reis", "Shrove Tuesday": "terça-feira gorda",
        "Ash Wednesday": "quarta-feira de Cinzas", "Palm Sunday": "Domingo de Ramos", "Holy Week": "Semana Santa",
        "Good Friday": "Sexta-feira Santa", "Easter": "Páscoa|na Páscoa", "Easter Sunday": "Domingo de Páscoa",
        "Corpus Christi": "Corpo de Deus", "Midsummer": "dia de São João|festa de São João",
        "All Saints": "dia de Todos os Santos", "All Souls": "Finados|dia de Finados",
        "Christmas": "no Natal|Natal de", "Christmas Eve": "véspera de Natal|noite de Natal",
        "Christmas Day": "dia de Natal",
    },
    parts={
        "early": "início de|início do|início da|início dos|início|no início de|no início do|no início da|"
                 "no início dos|começo de|começo do|começo da|começo dos|no começo de|no começo do|no começo da|"
                 "no começo dos|princípio de|princípio do|princípios de|princípio dos",
        "mid": "meados de|meados do|meados da|meados dos|em meados de|em meados do|em meados da|em meados dos",
        "late": "fim de|fim do|fim da|fim dos|no fim de|no fim do|no fim da|no fim dos|final de|final do|final da|"
                "final dos|no final de|no final do|no final da|no final dos|fins de|fins do|fins dos",
    },
    decades={
        "twenties": "anos vinte", "thirties": "anos trinta", "forties": "anos quarenta", "fifties": "anos cinquenta",
        "sixties": "anos sessenta", "seventies": "anos setenta", "eighties": "anos oitenta",
    },
    wars={
        "First World War": "Primeira Guerra Mundial|a Primeira Guerra Mundial|Primeira Guerra|a Primeira Guerra|"
                           "1ª Guerra Mundial|a 1ª Guerra Mundial|I Guerra Mundial",
        "Second World War": "Segunda Guerra Mundial|a Segunda Guerra Mundial|Segunda Guerra|a Segunda Guerra|"
                            "2ª Guerra Mundial|a 2ª Guerra Mundial|II Guerra Mundial",
        "wartime": "guerra|a guerra|anos da guerra|tempo da guerra",
        "before wartime": "pré-guerra", "after wartime": "pós-guerra", "interwar": "entre-guerras|entre guerras",
    },
    about="por volta de|por volta do|por volta|cerca de|cerca|mais ou menos|à volta de|à volta",
    before="antes de|antes|antes do|antes da|antes dos",
    after="depois de|depois|depois do|depois da|depois dos|após",
    since="desde|a partir de|a partir",
    until="até ao|até o|até ao ano de|o mais tardar em",
    either="ou|ou talvez|ou então",
    denied="não|nunca",
    perhaps="talvez|provavelmente|possivelmente",
    within="em|durante",
    year="ano|ano de|no ano|no ano de|do ano|do ano de",
    century="século|séc",
    no_years_after="número|nº|página|pág|telefone|casa|nascido|nascida|nasceu|falecido|falecida|faleceu",
    no_years_before="pessoas|réis|escudos",
    phrases=(
        (r"^ENTRE (?:O |OS )?(.+) E (?:O |OS )?(.+)$", r"BETWEEN \1 AND \2"),
        (r"^DE (.+) ATE (.+)$", r"FROM \1 TO \2"),
        (r"\bDECADA (?:DE )?(\d{2,3}0)\b", r"\1S"),
        (r"^(?:NOS|DOS|NA|DA|A|O|OS) (?=\d{2,3}0S|[A-Z]+TIES|[A-Z]+ WORLD WAR|WARTIME)", ""),
        (r"\b(EARLY|MID|LATE) (?:DOS|DO|DA|DE) (?=[\dA-Z])", r"\1 "),
        (r"(?<=\d )SET\.? (?:DE )?(?=\d{4})", "SEP "), (r"(?<=\d )OUT\.? (?:DE )?(?=\d{4})", "OCT "),
    ),
)  # fmt: skip
"""As in Portugal and in Brazil. Without the words around them "set", "out" and "ate" are English words, and Natal,
São João and Todos os Santos are places."""

"""The words of a date in Polish, Czech and Slovak, as `languages` explains.

Months are in all the cases that people write them in: "maj", "5 maja", "w maju". A short form that is a word
elsewhere ("sie", "led", "pro") is a month only between a day and a year. "Listopad" is November here and October in
Croatian, which has no table.
"""

from __future__ import annotations

from kinphoto.gedcom.language import Language, between_day_and_year

POLISH = Language(
    months=(
        "styczeń|stycznia|styczniu|stycz", "luty|lutego|lutym", "marzec|marca|marcu",
        "kwiecień|kwietnia|kwietniu|kwiec",
        "maj|maju", "czerwiec|czerwca|czerwcu|czerw", "lipiec|lipca|lipcu", "sierpień|sierpnia|sierpniu|sierp",
        "wrzesień|września|wrześniu|wrzes", "październik|października|październiku|paźdz|paź",
        "listopad|listopada|listopadzie", "grudzień|grudnia|grudniu|grudz",
    ),
    genitives={"maja": "MAY"},
    weekdays=(
        "poniedziałek|pon", "wtorek|wt", "środa|środę", "czwartek|czw", "piątek|pt", "sobota|sobotę|sob",
        "niedziela|niedzielę|niedz",
    ),
    seasons={
        "spring": "wiosna|wiosną|wiosny|na wiosnę", "summer": "lato|latem|w lecie",
        "autumn": "jesień|jesienią|jesieni|na jesieni", "winter": "zima|zimą|zimy|zimie|w zimie",
    },
    feasts={
        "New Year": "Nowy Rok|Nowego Roku|na Nowy Rok", "New Year's Eve": "sylwester|sylwestra|w sylwestra",
        "Epiphany": "Trzech Króli|Święto Trzech Króli", "Candlemas": "Matki Boskiej Gromnicznej",
        "carnival": "karnawał|karnawale|zapusty", "Ash Wednesday": "Środa Popielcowa|Popielec",
        "Palm Sunday": "Niedziela Palmowa|Niedzielę Palmową", "Holy Week": "Wielki Tydzień",
        "Maundy Thursday": "Wielki Czwartek", "Good Friday": "Wielki Piątek", "Holy Saturday": "Wielka Sobota",
        "Easter": "Wielkanoc|Wielkanocy|Wielkiej Nocy|na Wielkanoc|Święta Wielkanocne|Świąt Wielkanocnych",
        "Easter Sunday": "Niedziela Wielkanocna|Niedzielę Wielkanocną",
        "Easter Monday": "Poniedziałek Wielkanocny|lany poniedziałek",
        "Ascension": "Wniebowstąpienie|Wniebowstąpienia",
        "Whitsun": "Zielone Świątki|Zielonych Świątek|Zielone Święta|na Zielone Świątki",
        "Corpus Christi": "Boże Ciało|Bożego Ciała|na Boże Ciało", "Assumption": "Matki Boskiej Zielnej",
        "All Saints": "Wszystkich Świętych|na Wszystkich Świętych", "All Souls": "Zaduszki|Dzień Zaduszny",
        "St Nicholas": "mikołajki",
        "Christmas": "Boże Narodzenie|Bożego Narodzenia|na Boże Narodzenie|Święta Bożego Narodzenia",
        "Christmas Eve": "Wigilia|Wigilię|Wigilii|na Wigilię",
    },
    parts={
        "early": "początek|początku|na początku|z początku|początkiem|początki",
        "mid": "połowa|połowie|w połowie|połowy", "late": "koniec|końcu|w końcu|końca|pod koniec|końcem|schyłek",
    },
    decades={
        "twenties": "lata dwudzieste|latach dwudziestych|lat dwudziestych",
        "thirties": "lata trzydzieste|latach trzydziestych|lat trzydziestych",
        "forties": "lata czterdzieste|latach czterdziestych|lat czterdziestych",
        "fifties": "lata pięćdziesiąte|latach pięćdziesiątych|lat pięćdziesiątych",
        "sixties": "lata sześćdziesiąte|latach sześćdziesiątych|lat sześćdziesiątych",
        "seventies": "lata siedemdziesiąte|latach siedemdziesiątych|lat siedemdziesiątych",
        "eighties": "lata osiemdziesiąte|latach osiemdziesiątych|lat osiemdziesiątych",
    },
    wars={
        "First World War": "pierwsza wojna światowa|pierwszej wojny światowej|pierwszą wojną światową|"
                           "pierwszej wojnie światowej|I wojna światowa|I wojny światowej|I wojną światową|"
                           "I wojnie światowej|pierwszą wojną|pierwszej wojnie",
        "Second World War": "druga wojna światowa|drugiej wojny światowej|drugą wojną światową|"
                            "drugiej wojnie światowej|II wojna światowa|II wojny światowej|II wojną światową|"
                            "II wojnie światowej|drugą wojną|drugiej wojnie",
        "wartime": "wojna|wojny|wojnie|wojną|wojnę", "before wartime": "przedwojenne", "after wartime": "powojenne",
        "interwar": "międzywojnie|dwudziestolecie międzywojenne|okres międzywojenny|między wojnami",
    },
    about="około|około roku|koło|mniej więcej|w przybliżeniu",
    before="przed|przed rokiem",
    after="po|po roku",
    since="od|od roku|nie wcześniej niż|najwcześniej",
    until="do|do roku|nie później niż|najpóźniej",
    either="lub|albo|czy|albo może|lub może",
    denied="nie|nigdy",
    perhaps="może|być może|chyba|prawdopodobnie|zapewne|przypuszczalnie",
    within="w|we|podczas|w czasie|w dniu|dnia",
    year="rok|roku|roku pańskiego",
    century="wiek|wieku",
    undated="bez daty|data nieznana",
    no_years_after="nr|numer|str|tel|telefon|dom|ur|urodzony|urodzona|urodził|urodziła|zm|zmarł|zmarła",
    no_years_before="lat|osób|zł|złotych|ludzi",
    phrases=(
        (r"^(?:PO)?MIEDZY (.+) (?:A|I) (.+)$", r"BETWEEN \1 AND \2"), (r"^OD (.+) DO (.+)$", r"FROM \1 TO \2"),
        (r"(?<=\d{4}) ?(?:R|ROK|ROKU)\b\.?", ""),
        (r"\bLA(?:TA|TACH|T) '?((?:\d\d)?\d0)\b\.?(?: (?:19 CENTURY|XX W|20 CENTURY)\.?)?", r"\1S"),
        (r"\bLA(?:TA|TACH|T) (?=[A-Z]+TIES\b|\d{4} ?[-–—])", ""), (r"^OK\. ?(?=[\dA-Z])", "ABOUT "),
        (r"^NA (EARLY|MID|LATE) ", r"\1 "), (r"^NA PRZELOMIE (\d{4}) (?:I|/) (\d{4})$", r"BETWEEN \1 AND \2"),
        *between_day_and_year("STY LUT MAR KWI MAJ CZE LIP SIE WRZ PAZ LIS GRU"),
    ),
)  # fmt: skip

CZECH = Language(
    months=(
        "leden|ledna|lednu|január|januára|januári", "únor|února|únoru|február|februára|februári",
        "březen|března|březnu|marec|marca|marci", "duben|dubna|dubnu|apríl|apríla|apríli",
        "květen|května|květnu|máj|máji", "červen|června|červnu|jún|júna|júni",
        "červenec|července|červenci|júl|júli", "srpen|srpna|srpnu|auguste", "září|septembra|septembri",
        "říjen|října|říjnu|október|októbra|októbri", "listopad|listopadu|novembra|novembri",
        "prosinec|prosince|prosinci|decembra|decembri",
    ),
    genitives={"mája": "MAY", "júla": "JUL", "augusta": "AUG"},
    weekdays=(
        "pondělí|pondelok", "úterý|utorok", "středa|středu|ve středu|streda|stredu", "čtvrtek|ve čtvrtek|štvrtok",
        "pátek|piatok",
        "sobota|sobotu", "neděle|neděli|nedeľa|nedeľu",
    ),
    seasons={
        "spring": "jaro|jara|na jaře|jaře|jari|na jar", "summer": "léto|létě|v létě|leto|lete|v lete",
        "autumn": "podzim|podzimu|na podzim|jeseň|jesene|jeseni|na jeseň", "winter": "zima|zimě|v zimě|zimu|zime",
    },
    feasts={
        "New Year": "Nový rok|na Nový rok|Nového roku", "New Year's Eve": "Silvestr|na Silvestra|Silvestra",
        "Epiphany": "Tři králové|Traja králi", "carnival": "masopust|fašiangy", "Palm Sunday": "Květná neděle",
        "Good Friday": "Velký pátek|Veľký piatok", "Holy Saturday": "Bílá sobota|Biela sobota",
        "Easter": "Velikonoce|Velikonoc|Velikonocích|o Velikonocích|na Velikonoce|Veľká noc|na Veľkú noc|Veľkej noci",
        "Easter Monday": "Velikonoční pondělí|Veľkonočný pondelok",
        "Whitsun": "Letnice|Svatodušní svátky|o Letnicích|Turíce", "Corpus Christi": "Boží tělo|Božie telo",
        "All Saints": "Všech svatých|Všetkých svätých", "All Souls": "Dušičky|na Dušičky",
        "St Nicholas": "Mikuláše|na Mikuláše|na Mikuláša",
        "Christmas": "Vánoce|Vánoc|Vánocích|o Vánocích|na Vánoce|Vianoce|Vianoc|na Vianoce",
        "Christmas Eve": "Štědrý den|na Štědrý den|Štědrý večer|Štedrý deň|Štedrý večer",
    },
    parts={
        "early": "začátek|začátku|začátkem|na začátku|počátek|počátku|počátkem|na počátku|začiatok|začiatku|začiatkom|"
                 "na začiatku",
        "mid": "polovina|polovině|v polovině|polovice|polovici|v polovici|uprostřed",
        "late": "konec|konce|koncem|na konci|konci|ke konci|závěr|závěrem",
    },
    decades={
        "twenties": "dvacátá léta|dvacátých let|dvacátých letech|dvadsiate roky|dvadsiatych rokov|dvadsiatych rokoch",
        "thirties": "třicátá léta|třicátých let|třicátých letech|tridsiate roky|tridsiatych rokov|tridsiatych rokoch",
        "forties": "čtyřicátá léta|čtyřicátých let|čtyřicátých letech|štyridsiate roky|štyridsiatych rokov|"
                   "štyridsiatych rokoch",
        "fifties": "padesátá léta|padesátých let|padesátých letech|päťdesiate roky|päťdesiatych rokov|"
                   "päťdesiatych rokoch",
        "sixties": "šedesátá léta|šedesátých let|šedesátých letech|šesťdesiate roky|šesťdesiatych rokov|"
                   "šesťdesiatych rokoch",
        "seventies": "sedmdesátá léta|sedmdesátých let|sedmdesátých letech|sedemdesiate roky|sedemdesiatych rokov|"
                     "sedemdesiatych rokoch",
        "eighties": "osmdesátá léta|osmdesátých let|osmdesátých letech|osemdesiate roky|osemdesiatych rokov|"
                    "osemdesiatych rokoch",
    },
    wars={
        "First World War": "první světová válka|první světové války|první světovou válkou|první světové válce|"
                           "1. světová válka|1. světové války|1. světovou válkou|1. světové válce|I. světová válka|"
                           "prvá svetová vojna|prvej svetovej vojny|prvou svetovou vojnou|prvej svetovej vojne|"
                           "první válkou|první válce",
        "Second World War": "druhá světová válka|druhé světové války|druhou světovou válkou|druhé světové válce|"
                            "2. světová válka|2. světové války|2. světovou válkou|2. světové válce|II. světová válka|"
                            "druhá svetová vojna|druhej svetovej vojny|druhou svetovou vojnou|druhej svetovej vojne|"
                            "druhou válkou|druhé válce",
        "wartime": "válka|války|válce|válkou|vojna|vojny|vojne|vojnou",
        "interwar": "mezi válkami|meziválečné období|medzi vojnami",
    },
    about="kolem|kolem roku|okolo|okolo roku|asi|asi v roce|přibližně|přibližně v roce|zhruba|zhruba v roce|cca|"
          "približne|asi v roku",
    before="před|před rokem|pred|pred rokom",
    after="po|po roce|po roku",
    since="od|od roku|nejdříve|najskôr",
    until="do|do roku|nejpozději|najneskôr",
    either="nebo|anebo|či|alebo|buď",
    denied="ne|nikdy",
    perhaps="možná|snad|pravděpodobně|zřejmě|patrně|možno|pravdepodobne|azda",
    within="v roce|v roku|během|za|dne|dňa|počas",
    year="rok|roku|roce|léta Páně",
    century="století|storočie|storočia|stol",
    no_years_after="č|číslo|čp|str|tel|telefon|nar|narozen|narozena|narodil|narodila|zemř|zemřel|zemřela",
    no_years_before="let|osob|Kč|korun|lidí|ľudí",
    undated="bez data|datum neznámé|nedatováno",
    phrases=(
        (r"^ME(?:ZI|DZI) (.+) (?:A|AZ) (.+)$", r"BETWEEN \1 AND \2"), (r"^OD (.+) DO (.+)$", r"FROM \1 TO \2"),
        (r"^VE? (?=[A-Z]+TIES|\d{2,3}0S)|^V (?=[A-Z]{3})", ""),
        (r"^(?:[VZW] )?(?:R\. ?|R ?|(?<=Z )ROKU )(?=\d{4})", ""),
        (r"\b((?:\d\d)?\d0)\. ?(?:LETA|LET|LETECH|ROKY|ROKOV|ROKOCH)\b(?: (?:19|20)\. ?CENTURY| 20 CENTURY)?", r"\1S"),
        (r"\b((?:\d\d)?\d0) (?:LETA|LET|LETECH|ROKY|ROKOV|ROKOCH)\b", r"\1S"),
        *between_day_and_year("LED UNO BRE DUB KVE CVN CVC SRP ZAR RIJ LIS PRO"),
    ),
)  # fmt: skip
"""With the Slovak spellings that differ."""

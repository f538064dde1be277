"""The words of ages in Polish, Portuguese and Russian, as `ages_in_languages` reads them: numbers to ninety-nine, and
what stands around them, with its English. Several words that mean one thing are parted by `|`.

Numbers stand in the genitive too, as after "około" and "около": "około siedmiu lat", "около семи лет".
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

_POLISH = (
    "zero jeden|jednego dwa|dwie|dwóch trzy|trzech cztery|czterech pięć|pięciu sześć|sześciu siedem|siedmiu "
    "osiem|ośmiu dziewięć|dziewięciu dziesięć|dziesięciu jedenaście|jedenastu dwanaście|dwunastu trzynaście|trzynastu "
    "czternaście|czternastu piętnaście|piętnastu szesnaście|szesnastu siedemnaście|siedemnastu osiemnaście|osiemnastu "
    "dziewiętnaście|dziewiętnastu"
)
_POLISH_TENS = (
    "dwadzieścia|dwudziestu trzydzieści|trzydziestu czterdzieści|czterdziestu pięćdziesiąt|pięćdziesięciu "
    "sześćdziesiąt|sześćdziesięciu siedemdziesiąt|siedemdziesięciu osiemdziesiąt|osiemdziesięciu "
    "dziewięćdziesiąt|dziewięćdziesięciu"
)
_RUSSIAN = (
    "ноль один|одного|одна два|две|двух три|трёх четыре|четырёх пять|пяти шесть|шести семь|семи восемь|восьми "
    "девять|девяти десять|десяти одиннадцать|одиннадцати двенадцать|двенадцати тринадцать|тринадцати "
    "четырнадцать|четырнадцати "
    "пятнадцать|пятнадцати шестнадцать|шестнадцати семнадцать|семнадцати восемнадцать|восемнадцати "
    "девятнадцать|девятнадцати"
)
_RUSSIAN_TENS = (
    "двадцать|двадцати тридцать|тридцати сорок|сорока пятьдесят|пятидесяти шестьдесят|шестидесяти семьдесят|семидесяти "
    "восемьдесят|восьмидесяти девяносто|девяноста"
)
_PORTUGUESE = (
    "zero um|uma dois|duas três quatro cinco seis sete oito nove dez onze doze treze catorze|quatorze quinze "
    "dezasseis|dezesseis dezassete|dezessete dezoito dezanove|dezenove"
)
_PORTUGUESE_TENS = "vinte trinta quarenta cinquenta sessenta setenta oitenta noventa"


def numbers(
    ones: str, tens: str, joined: Callable[[str, str], str] = lambda ten, one: f"{ten} {one}"
) -> Iterator[tuple[str, int]]:
    """From 0 to 99, each in all its forms; `ones` go to 19 or 29, and a ten and a one are `joined` into one word."""
    single = [word.split("|") for word in ones.split()]
    for value, forms in enumerate(single):
        yield from ((form, value) for form in forms)
    for ten, group in enumerate(tens.split(), len(single) // 10):
        for form in group.split("|"):
            yield form, 10 * ten
            for one in range(1, 10):
                yield from ((joined(form, more), 10 * ten + one) for more in single[one])


def polish_numbers() -> Iterator[tuple[str, int]]:
    """From 0 to 99."""
    return numbers(_POLISH, _POLISH_TENS)


def russian_numbers() -> Iterator[tuple[str, int]]:
    """From 0 to 99."""
    return numbers(_RUSSIAN, _RUSSIAN_TENS)


def portuguese_numbers() -> Iterator[tuple[str, int]]:
    """From 0 to 99, as in Portugal and in Brazil."""
    return numbers(_PORTUGUESE, _PORTUGUESE_TENS, lambda ten, one: f"{ten} e {one}")


POLISH_WORDS = {
    "rok": "year", "lata|lat|roku|latka": "years", "miesiąc": "month", "miesiące|miesięcy": "months",
    "tydzień": "week", "tygodnie|tygodni": "weeks", "dzień": "day", "dni": "days",
    "ma|miał|miała|w wieku|wiek": "", "około|ok.|mniej więcej|jakieś|może|chyba": "about",
    "prawie|niespełna|niecałe|jeszcze nie": "nearly", "poniżej|mniej niż": "under",
    "ponad|powyżej|więcej niż|co najmniej|przeszło": "over", "lub|albo|czy": "or", "do": "to", "między": "between",
    "a|i": "and", "i pół": "and a half", "pół roku": "half a year", "półtora": "1.5",
    "niemowlę|niemowlak|dzidziuś": "baby", "noworodek": "newborn", "nastolatek|nastolatka": "teenager",
    "dziecko|dziewczynka|chłopiec": "child", "dorosły|dorosła": "adult", "młody|młoda": "young", "stary|stara": "old",
    **{f"{word}latek|{word}latka": f"{ten}s" for word, ten in {
        "dwudziesto": 20, "trzydziesto": 30, "czterdziesto": 40, "pięćdziesięcio": 50}.items()},
    **{f"po {word}": f"over {ten}" for word, ten in {
        "trzydziestce": 30, "czterdziestce": 40, "pięćdziesiątce": 50, "sześćdziesiątce": 60}.items()},
}  # fmt: skip
PORTUGUESE_WORDS = {
    "um ano": "1 year", "um mês": "1 month", "uma semana": "1 week", "um dia": "1 day", "ano": "year",
    "anos|aninhos": "years", "mês": "month", "meses": "months", "semana": "week", "semanas": "weeks", "dia": "day",
    "dias": "days", "de idade|tem|tinha|com|de": "",
    "uns|umas|cerca de|mais ou menos|aproximadamente|por volta de|por volta dos|talvez": "about",
    "quase|ainda não": "nearly", "menos de": "under", "mais de|pelo menos": "over", "ou": "or", "a": "to",
    "entre": "between", "entre os": "between", "e": "and", "e os": "and", "e meio|e meia": "and a half",
    "meio ano": "half a year", "um ano e meio|ano e meio": "1.5 years", "na casa dos": "in the",
    "bebê|um bebê|uma bebê": "baby", "recém-nascido|recém-nascida|um recém-nascido": "newborn",
    "adolescente|um adolescente|uma adolescente": "teenager",
    "criança|uma criança|menino|menina|um menino|uma menina": "child", "adulto|adulta": "adult", "jovem": "young",
    "velho|velha|idoso|idosa": "old",
    **{f"{word} e poucos|{word} e tantos": f"{ten}s" for word, ten in {
        "vinte": 20, "trinta": 30, "quarenta": 40, "cinquenta": 50}.items()},
}  # fmt: skip
RUSSIAN_WORDS = {
    "год|годик": "year", "года|лет|годика|годиков": "years", "месяц": "month", "месяца|месяцев": "months",
    "неделя|неделю": "week", "недели|недель": "weeks", "день": "day", "дня|дней": "days",
    "ей|ему|в возрасте|возраст": "", "около|примерно|приблизительно|где-то|наверное|может быть|лет около": "about",
    "почти|под|без малого|ещё не": "nearly", "меньше|моложе|младше|менее": "under",
    "больше|старше|более|не меньше|за": "over", "или": "or", "между": "between", "и": "and",
    "с половиной": "and a half", "полгода": "half a year", "полтора": "1.5",
    "младенец|грудничок": "baby", "новорождённый|новорождённая": "newborn", "подросток": "teenager",
    "ребёнок|девочка|мальчик": "child", "взрослый|взрослая": "adult", "молодой|молодая": "young",
    "старый|старая": "old",
}  # fmt: skip

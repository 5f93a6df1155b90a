"""Words for running, starting and stopped, as plants write them."""

from collections.abc import Iterable

_WORDS = {
    "running": "run running on online operating operation normal auto service inservice production in betrieb "
               "inbetrieb ein marche enmarche enservice encendido marcha enmarcha ligado operando y yes true open "
               "steady 1 ok enoperacion operativo lauft producing",
    "starting": "start starting startup flush flushing rinse rinsing anfahren spulen anlauf demarrage rincage arranque "
                "enjuague lavado cip cleaning clean preflush postflush partida transition warmup",
    "stopped": "stop stopped off offline standby shutdown down idle outofservice aus stillstand arret horsservice "
               "parado apagado paro desligado n no false closed trip tripped fault alarm maintenance 0 oos hold "
               "lockout fueradeservicio detenido ausserbetrieb wartung ready backwash",
}  # fmt: skip
STATE_OF = {word: state for state, words in _WORDS.items() for word in words.split()}
_ANYTHING = frozenset(("ok", "normal", "auto", "y", "yes", "n", "no", "1", "0", "true", "false"))
MOST_WORDS = 15
"""More different words than this are no states but remarks."""


def state_of(word: str) -> str:
    """What a word says about the plant: running, starting, stopped, or "" when that is not known.

    Examples
    --------
    >>> state_of("Start-up"), state_of("OFF"), state_of("1.0")
    ('starting', 'stopped', 'running')
    """
    plain = "".join(sign for sign in word.lower().removesuffix(".0") if sign.isalnum())
    plain = plain.translate(str.maketrans("äöüéèêëáàâóôíîúûñç", "aoueeeeaaaooiiuunc"))
    return STATE_OF.get(plain, "")


def state_words(texts: Iterable[str]) -> dict[str, str]:
    """Each different word of a column with what it means; empty when there are too many for states."""
    different = list(dict.fromkeys(texts))
    return {word: state_of(word) for word in different} if len(different) <= MOST_WORDS else {}


def says_little(words: Iterable[str]) -> bool:
    """Whether all words could as well speak of a sample, a check or the weather: such as "ok"."""
    return all(word.strip().lower() in _ANYTHING for word in words)

"""One key for every composer, however the name is written."""

import re
import unicodedata

_ASIDE = re.compile(r"\([^)]*\)?|\[[^\]]*\]?|\d+\S*")
_SEPARATOR = re.compile(r"[\s_]+")
_ELIDED = re.compile(r"^d['\u2019](?=\w)")
_MARKS = " .,;:-\u2013"


def surname_key(name: str) -> str:
    """The surname without capitals, accents and particles; of several composers the first.

    Before a comma stands the surname, else it is the last word. Namesakes have one key, so that
    whoever counts composers never counts too many.

    >>> [surname_key(name) for name in ("Ludwig van Beethoven", "Beethoven,_Ludwig_van")]
    ['beethoven', 'beethoven']
    >>> [surname_key(name) for name in ("Béla Bartók (1881-1945)", "Vincent d'Indy", "")]
    ['bartok', 'indy', '']
    """
    line = next((line for line in name.splitlines() if line.strip()), "")
    plain = _ASIDE.sub(" ", line)
    decomposed = unicodedata.normalize("NFKD", plain.casefold())
    letters = "".join(each for each in decomposed if not unicodedata.combining(each))
    words = [word.strip(_MARKS) for word in _SEPARATOR.split(letters.partition(",")[0])]
    last = next((word for word in reversed(words) if word), "")
    return _ELIDED.sub("", last)


def named_by_folder(folder: str) -> str:
    """The composer whom a folder is named after.

    Folders are sorted by surname, so that it comes first with or without a comma.

    >>> named_by_folder("Beethoven,_Ludwig_van"), named_by_folder("schumann_robert")
    ('Beethoven, Ludwig van', 'schumann, robert')
    """
    name = folder if "," in folder else folder.replace("_", ",_", 1)
    return _SEPARATOR.sub(" ", name).strip()

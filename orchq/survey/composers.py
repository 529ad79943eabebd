"""One key for every composer, however the name is written."""

import re
import unicodedata

_ASIDE = re.compile(r"\([^)]*\)?|\[[^\]]*\]?|\d+\S*")
_BETWEEN = re.compile(r"[\s_.]+")
_ELIDED = re.compile(r"^d['\u2019](?=\w)")
_MARKS = ",;:-\u2013"


def composer_key(name: str, folder: str = "") -> str:
    """The surname of a composer without capitals, accents and particles.

    ``name`` is how the score names whoever wrote it, ``folder`` the name of a folder that may be
    named after the composer. It decides where the score says no other, since it is written with
    more care.

    >>> composer_key("W.AMozart.", "Mozart,_Wolfgang"), composer_key("Haydn", "Favourites")
    ('mozart', 'haydn')
    """
    filed = surname_key(named_by_folder(folder))
    if filed and (not name or filed in _plain(name)):
        return filed
    return surname_key(name)


def surname_key(name: str) -> str:
    """The surname in a name, of several lines in the first.

    Before a comma stands the surname, else it is the last word of more than a letter. Namesakes
    have one key, so that whoever counts composers never counts too many.

    >>> [surname_key(name) for name in ("Ludwig van Beethoven", "Beethoven, Ludwig van")]
    ['beethoven', 'beethoven']
    >>> [surname_key(name) for name in ("Béla Bartók (1881-1945)", "Vincent d'Indy", "")]
    ['bartok', 'indy', '']
    """
    line = next((line for line in name.splitlines() if line.strip()), "")
    surname = _plain(_ASIDE.sub(" ", line)).partition(",")[0]
    words = [word.strip(_MARKS) for word in _BETWEEN.split(surname)]
    last = next((word for word in reversed(words) if len(word) > 1), "")
    return _ELIDED.sub("", last)


def named_by_folder(folder: str) -> str:
    """The composer whom a folder is named after.

    Folders are sorted by surname, so that it comes first with or without a comma.

    >>> named_by_folder("Beethoven,_Ludwig_van"), named_by_folder("schumann_robert")
    ('Beethoven, Ludwig van', 'schumann, robert')
    """
    name = folder if "," in folder else folder.replace("_", ",_", 1)
    return " ".join(name.replace("_", " ").split())


def _plain(text: str) -> str:
    decomposed = unicodedata.normalize("NFKD", text.casefold())
    return "".join(each for each in decomposed if not unicodedata.combining(each))

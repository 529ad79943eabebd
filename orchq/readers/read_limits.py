"""Limits on the size of score files."""

from msgspec import Struct


class ReadLimits(Struct, frozen=True):
    """Bounds against files made to exhaust memory or time; users can raise each of them.

    ``max_bytes`` bounds the XML once unpacked, ``max_converted_bytes`` a file in another format,
    ``max_ratio`` how many times larger than its
    compressed form it may be, ``max_members`` the files in a compressed score, ``max_depth``
    how deeply elements of a measure may nest (the parser itself refuses 256), ``max_measures``
    and ``max_notes`` are counted over all parts that are read.
    """

    max_bytes: int = 200_000_000
    max_converted_bytes: int = 20_000_000
    max_ratio: int = 200
    max_members: int = 1_000
    max_depth: int = 40
    max_measures: int = 500_000
    max_notes: int = 2_000_000

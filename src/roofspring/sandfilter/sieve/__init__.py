"""Sieve tests: reading and checking them, the grading curve, and tests without sieves."""

from roofspring.sandfilter.sieve.analysis import (
    BALANCE_FRAC,
    KIND_WORDS,
    KINDS,
    Kind,
    SieveRow,
    SieveTest,
    sieve_test,
)
from roofspring.sandfilter.sieve.curve import (
    GradingCurve,
    GrainClass,
    Reading,
    log_probability_size_m,
    mixed,
)
from roofspring.sandfilter.sieve.read import read_sieve_file, typed_sieve_test
from roofspring.sandfilter.sieve.sizes import (
    FINES_M,
    Sieve,
    neighbours,
    parse_opening,
    series,
    sieve_at,
    sieve_name,
    size_text,
    standard_sieves,
)

__all__ = [
    "BALANCE_FRAC",
    "FINES_M",
    "KINDS",
    "KIND_WORDS",
    "GradingCurve",
    "GrainClass",
    "Kind",
    "Reading",
    "Sieve",
    "SieveRow",
    "SieveTest",
    "log_probability_size_m",
    "mixed",
    "neighbours",
    "parse_opening",
    "read_sieve_file",
    "series",
    "sieve_at",
    "sieve_name",
    "sieve_test",
    "size_text",
    "standard_sieves",
    "typed_sieve_test",
]

"""Brings in everything that takes long to import, once, before workers are forked."""

from prepcheck.art.pdf import document as document
from prepcheck.judging.registry import all_checks
from prepcheck.run import part as part

all_checks()

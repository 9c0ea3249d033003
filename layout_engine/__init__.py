"""The layout engine: a job document in; findings, an arrangement, sheets' data out.

Pure: no web, no database, no files, no clock, no global randomness. Use it from a notebook:

    job = load_document(text)
    for finding in check(job): ...
"""

from layout_engine.arranging import Arrangement, arrange
from layout_engine.checks import Finding, check
from layout_engine.errors import DocumentError, Fault
from layout_engine.model.document import document_bytes, dump_document, load_document
from layout_engine.model.job import Job

__all__ = [
    "Arrangement",
    "DocumentError",
    "Fault",
    "Finding",
    "Job",
    "arrange",
    "check",
    "document_bytes",
    "dump_document",
    "load_document",
]

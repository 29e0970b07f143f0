"""Somebody made sure that a doubt is none: a finished recording is copied, with that said in its header, and
so gets its verdict. The old one stays as it is.
"""

from pathlib import Path
from typing import Final

from msgspec.structs import replace

from coaxly.fitter import MODEL, withheld
from coaxly.logger.recording.reader import RecordingReader
from coaxly.logger.recording.records import End, Note, ResultRecord, Seal
from coaxly.logger.recording.writer import RecordingWriter

from ...entry.keyring import own_key
from ..recorded.pipeline import Pipeline

VOUCHED: Final = "made sure of, from "
"""Begins the note that says which recording it was made of."""


def vouch(path: Path, out: Path) -> Pipeline:
    """Write a recording of the same readings at `out` (which must not exist) that lifts every doubt of the
    one at `path`. Raises LoggerError or FitterError."""
    with RecordingReader(path) as reader:
        old = Pipeline(reader.header)
        records = [record for block in reader.blocks() for record in block]
    old.feed(records)
    kinds = sorted({*old.setup.sure, *withheld.doubted(old.result())})
    header = replace(old.header, setup={**old.header.setup, "sure": kinds})
    pipeline = Pipeline(header)
    kept = [record for record in records if not isinstance(record, ResultRecord | Seal | End)]
    last = max((getattr(record, "t", 0.0) for record in kept), default=0.0)
    kept.append(Note(last, VOUCHED + path.name))
    with RecordingWriter(out, header) as writer:
        writer.signer = own_key()
        for record in kept:
            writer.write(record)
        pipeline.feed(kept)
        writer.write(ResultRecord(last, pipeline.result().to_dict(), MODEL))
        writer.finish()
    return pipeline

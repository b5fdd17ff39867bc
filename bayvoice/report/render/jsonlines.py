"""A job as JSON lines: every fact with its seal, so that another program can check the chain by itself."""

from __future__ import annotations

import json
from collections.abc import Iterator

from bayvoice.record.sqlite.sealing import seal_of
from bayvoice.record.sqlite.store import Store


def to_jsonl(store: Store, job: str, badges: bool = False) -> Iterator[str]:
    """One object a line, each ended by a line feed (jsonlines.org: UTF-8, no byte order mark, no blank line).

    A fact is ``{job, seq, wall, kind, body, prev, hash, names}``. Its `body` is the RFC 8785 text that was sealed, as
    a string, so that no reader can spoil it; `names` has the names that stand for its tokens, where there are any. The
    last line of a sealed job is ``{job, seal}``.
    """
    names = store.names(job, badges)
    for row in store.rows(job):
        line = {
            "job": job,
            "seq": row.seq,
            "wall": row.wall,
            "kind": row.kind,
            "body": row.body,
            "prev": row.prev,
            "hash": row.hash,
        }
        said = names.told(row.kind, row.body)
        yield json.dumps(line | ({"names": said} if said else {}), ensure_ascii=False) + "\n"
    if seal := seal_of(store, job):
        yield json.dumps({"job": job, "seal": seal.as_dict()}, ensure_ascii=False) + "\n"

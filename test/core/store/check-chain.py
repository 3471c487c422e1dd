"""Recomputes a project's chain of hashes and reads its numbers with Python's own sqlite3, json and hashlib."""
import hashlib
import json
import sqlite3
import sys

db = sqlite3.connect(f"file:{sys.argv[1]}?mode=ro", uri=True)
db.row_factory = sqlite3.Row
previous = "0" * 64
last = {}
entries = db.execute(
    "SELECT record.*, actor.name AS actor_name FROM record JOIN actor ON actor.id = actor_id ORDER BY seq"
).fetchall()
for row in entries:
    changes = json.loads(row["changes_json"])
    entry = {
        "actor": {"id": row["actor_id"], "name": row["actor_name"]},
        "at_utc": row["at_utc"],
        "changes": changes,
        "command": row["command"],
        "id": row["id"],
        "redo_of": None if row["redo_of"] is None else str(row["redo_of"]),
        "seq": str(row["seq"]),
        "summary": row["summary"],
        "undo_of": None if row["undo_of"] is None else str(row["undo_of"]),
    }
    text = json.dumps(entry, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert row["prev_hash"] == previous, row["seq"]
    previous = hashlib.sha256((previous + text).encode()).hexdigest()
    assert row["hash"] == previous, row["seq"]
    for step in changes:
        last[(step["table"], step["id"])] = step["after"]

depths = 0
for row in db.execute("SELECT id, depth_m FROM probe WHERE depth_m IS NOT NULL"):
    assert float(last[("probe", row["id"])]["depth_m"]) == row["depth_m"]
    depths += 1
print(json.dumps({"entries": len(entries), "depths": depths, "hash": previous}))

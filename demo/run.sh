#!/bin/sh
# The main job, done by voice: makes the spoken track, works the whole job on it, writes the report.
set -eu
ROOT=$(CDPATH= cd -- "$(dirname -- "$0")/.." && pwd)
EXTRA=demo
. "$ROOT/.ci/prepare.sh"
OUT="${BAYVOICE_DEMO_OUT:-$ROOT/demo/out}"
JOB=k40-in-bay-2
mkdir -p "$OUT"
rm -f "$OUT"/bay.sqlite* "$OUT"/*.wav "$OUT"/report.html "$OUT"/sitting.txt
echo
echo "== The technician's voice over the noise of the workshop"
"$PY" "$ROOT/demo/make_track.py" "$OUT/technician.wav"
echo
echo "== The job: bayvoice hears that sound and nothing else"
"$PY" -m bayvoice work k40-transfer-cover --mic "$OUT/technician.wav" --speaker "$OUT/loudspeaker.wav" \
    --screen off --store "$OUT/bay.sqlite" --job "$JOB" --by Imre --people Imre,Dalia,Kofi,Ruth | tee "$OUT/sitting.txt"
echo
echo "== What the foreman reads"
"$PY" -m bayvoice report "$JOB" --store "$OUT/bay.sqlite" --text | sed -n '1,40p'
"$PY" -m bayvoice report "$JOB" --store "$OUT/bay.sqlite" --out "$OUT/report.html"
"$PY" -m bayvoice jobs --store "$OUT/bay.sqlite"
echo
echo "record:              $OUT/bay.sqlite"
echo "report:              $OUT/report.html   (open it in any browser)"
echo "what the bay heard:  $OUT/technician.wav"
echo "what bayvoice said:  $OUT/loudspeaker.wav"
"$PY" -m bayvoice jobs --store "$OUT/bay.sqlite" --json | "$PY" -c 'import json, sys
jobs = json.load(sys.stdin)["jobs"]
sys.exit(0 if jobs and jobs[0]["state"] == "done" else "The demo did not come to its end: see sitting.txt.")'

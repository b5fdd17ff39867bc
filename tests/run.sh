#!/bin/sh
# Runs every check of the project: style, types, tests, the last by two processes. `sh tests/run.sh -k words` passes
# options on to pytest (`-n 0`: by one). `sh tests/run.sh --quick` leaves out sound, screens, whole jobs and what is
# marked slow.
set -eu
ROOT=$(CDPATH= cd -- "$(dirname -- "$0")/.." && pwd)
EXTRA=test
. "$ROOT/.ci/prepare.sh"
cd "$ROOT"
if [ "${1-}" = --quick ]; then
    shift
    set -- -m "not slow" tests/dialogue tests/language tests/trade tests/procedure "$@"
fi
echo "bayvoice: ruff"
"$PY" -m ruff check .
"$PY" -m ruff format --check .
echo "bayvoice: mypy"
"$PY" -m mypy
echo "bayvoice: pytest"
exec "$PY" -m pytest -n 2 --dist loadgroup --no-loadscope-reorder "$@"

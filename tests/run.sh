#!/bin/sh
# Runs every check of the project: style, types, tests. `sh tests/run.sh -k words` passes options on to pytest.
set -eu
ROOT=$(CDPATH= cd -- "$(dirname -- "$0")/.." && pwd)
EXTRA=test
. "$ROOT/.ci/prepare.sh"
cd "$ROOT"
echo "bayvoice: ruff"
"$PY" -m ruff check .
"$PY" -m ruff format --check .
echo "bayvoice: mypy"
"$PY" -m mypy
echo "bayvoice: pytest"
exec "$PY" -m pytest "$@"

# Sourced by demo/run.sh and tests/run.sh with ROOT (the checkout) and EXTRA ("demo" or "test") set.
# Makes or reuses $ROOT/.venv and installs the product with that extra; leaves the interpreter's path in $PY.
# Needs python3 (3.11 or newer) and a package index; no root, no compiler, and not even pip or venv's ensurepip.

VENV="$ROOT/.venv"
PY="$VENV/bin/python"
STAMP="$VENV/.installed-$EXTRA"

base_python() {
    for candidate in python3.13 python3.12 python3.11 python3; do
        if command -v "$candidate" >/dev/null 2>&1 &&
            "$candidate" -c 'import sys; sys.exit(sys.version_info < (3, 11))' >/dev/null 2>&1; then
            command -v "$candidate"
            return 0
        fi
    done
    echo "bayvoice needs Python 3.11 or newer; install the package python3." >&2
    return 1
}

wanted() { # what an installation depends on: the project file, the extra, where the checkout stands, this script
    { cat "$ROOT/pyproject.toml" "$ROOT/.ci/prepare.sh"; echo "$EXTRA $ROOT"; } | cksum
}

if [ -x "$PY" ] && [ -f "$STAMP" ] && [ "$(cat "$STAMP")" = "$(wanted)" ]; then
    echo "bayvoice: $VENV is ready, nothing to install"
else
    if ! [ -x "$PY" ] || ! "$PY" -c 'import sys; sys.exit(sys.version_info < (3, 11))' >/dev/null 2>&1; then
        BASE=$(base_python) || exit 1
        echo "bayvoice: making $VENV with $BASE"
        rm -rf "$VENV"
        "$BASE" -m venv --without-pip "$VENV"
    fi
    if ! "$PY" -m pip --version >/dev/null 2>&1; then
        # Debian's python3 comes without pip and without ensurepip.
        if "$PY" -c 'import ensurepip' >/dev/null 2>&1 && "$PY" -m ensurepip >/dev/null 2>&1; then
            :
        else
            echo "bayvoice: fetching pip from the package index"
            "$PY" "$ROOT/.ci/get_pip.py"
        fi
    fi
    echo "bayvoice: installing into $VENV (once; some minutes on a slow line)"
    "$PY" -m pip install --quiet --disable-pip-version-check --editable "$ROOT[$EXTRA]"
    wanted >"$STAMP"
fi

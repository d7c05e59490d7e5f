# Sourced by workbooks/demo.sh and tests/run.sh: what both need before they start.
# Afterwards the current folder is the checkout, and `python` is the one in its own environment.

set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
checkout=$PWD
environment=$checkout/.venv

say() { printf '%s\n' "$@" >&2; }
stop() { say "$@"; exit 1; }

python() { "$environment/bin/python" "$@"; }

# install_system PACKAGE...: the reason for each has been said already.
install_system() {
    command -v apt-get >/dev/null ||
        stop "These are missing, and this machine has no apt-get to install them: $*. Install them, then run this again."
    local as_root=()
    if [ "$(id -u)" -ne 0 ]; then
        command -v sudo >/dev/null ||
            stop "These are missing, and installing them needs root or sudo: $*. Install them, then run this again."
        as_root=(sudo)
    fi
    say "Installing with apt-get, which can take some minutes: $*"
    local apt=("${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get -qq -o DPkg::Lock::Timeout=300)
    local log
    log=$("${apt[@]}" update 2>&1) || say "$log" "apt-get update failed; trying with the package lists at hand."
    # Nothing of the user's is removed to make room.
    log=$("${apt[@]}" install -y --no-install-recommends --no-remove "$@" 2>&1) ||
        stop "$log" "apt-get could not install: $*. The reason stands above."
}

recent_enough() { "$1" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; }

find_python() {
    local name
    for name in python3 python3.14 python3.13 python3.12 python3.11; do
        if command -v "$name" >/dev/null && recent_enough "$name"; then
            command -v "$name"
            return
        fi
    done
    return 1
}

# The environment is made once, and again when it does not work any more.
make_environment() {
    if [ -x "$environment/bin/python" ] && recent_enough "$environment/bin/python" &&
        python -m pip --version >/dev/null 2>&1; then
        return
    fi
    local base
    if ! base=$(find_python); then
        say "Python 3.11 or later is needed: railfuncs is written in it."
        install_system python3 python3-venv
        base=$(find_python) || stop "The newest Python that this system offers is older than 3.11, which railfuncs needs."
    fi
    if ! "$base" -c 'import ensurepip, venv' 2>/dev/null; then
        say "Python's venv module is needed: it keeps railfuncs apart from the rest of the system."
        install_system "python$("$base" -c 'import sys; print("%d.%d" % sys.version_info[:2])')-venv"
    fi
    say "Setting up .venv with $("$base" --version)"
    "$base" -m venv --clear "$environment"
}

# install_package EXTRAS: railfuncs from this checkout, again only when its requirements or its place have changed.
install_package() {
    local extras=$1 stamp="$environment/installed${1:+-$1}" state
    make_environment
    state="$checkout $(cksum <pyproject.toml)"
    [ "$(cat "$stamp" 2>/dev/null)" != "$state" ] || return 0
    say "Installing railfuncs from this checkout into .venv"
    python -m pip install -q --disable-pip-version-check -e ".${extras:+[$extras]}"
    printf '%s\n' "$state" >"$stamp"
}

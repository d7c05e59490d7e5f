#!/usr/bin/env bash
# Run the tests; arguments go to pytest: bash tests/run.sh -k spacing
source "$(dirname "${BASH_SOURCE[0]}")/../.ci/setup.sh"

missing=()
# need PACKAGE "WHY" CHECK...: the package is wanted where the check fails.
need() {
    local package=$1 why=$2
    shift 2
    if ! "$@" >/dev/null 2>&1; then
        say "$package is needed: $why."
        missing+=("$package")
    fi
}

installed_fonts() { fc-list : family | grep 'Liberation Sans'; }
office() { readlink -f "$(command -v soffice)"; }
calc() { [ -e "$(dirname "$(office)")/libsclo.so" ]; }
type_writer() { [ -x "$(dirname "$(office)")/../sdk/bin/unoidl-write" ]; }

need libreoffice-calc "the tests recalculate every workbook in a real spreadsheet" calc
need python3-uno "the tests steer LibreOffice through it" /usr/bin/python3 -I -c "import uno"
need libreoffice-dev "its unoidl-write makes the type library of the Calc add-in afresh" type_writer
need poppler-utils "its pdftoppm turns printed pages into pictures" command -v pdftoppm
need fonts-liberation "pages are laid out with these fonts, the same on every machine" installed_fonts
if [ ${#missing[@]} -gt 0 ]; then
    install_system "${missing[@]}"
fi

install_package test
exec "$environment/bin/python" -m pytest "$@"

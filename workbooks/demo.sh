#!/usr/bin/env bash
# Make the workbook of a small job from its measurements: bash workbooks/demo.sh
source "$(dirname "${BASH_SOURCE[0]}")/../.ci/setup.sh"

install_package ""
python -m railfuncs job workbooks/demo-measure.csv -o demo-job.xlsx --replace
say "Open demo-job.xlsx in any spreadsheet."

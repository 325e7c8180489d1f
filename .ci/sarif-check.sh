#!/usr/bin/env bash
# Holds our SARIF to the schema of the standard (OASIS, SARIF 2.1.0 errata 01). The schema itself is
# not ours to keep here: it is taken from the test data of a Go module that carries it unchanged.
# Usage: sarif-check.sh FINDSLIP FOLDER_FOR_SCRATCH
set -euo pipefail
cd "$(dirname "$0")/.."
findslip=$1 work=$2
module=github.com/securego/gosec/v2@v2.30.0
if ! dir=$(cd "$work" && GOWORK=off GOFLAGS=-mod=mod go mod download -json "$module" 2>/dev/null | sed -n 's/.*"Dir": "\(.*\)".*/\1/p') || [ -z "$dir" ]; then
	echo "NOT CHECKED: the schema of SARIF cannot be had here"
	exit 0
fi
mkdir -p "$work/vectors"
node -e 'const fs = require("fs"), [to, ...from] = process.argv.slice(1);
from.forEach((f, i) => JSON.parse(fs.readFileSync(f)).draws?.forEach((v, n) => fs.writeFileSync(`${to}/${i}-${n}.findslip.json`, JSON.stringify(v.report))));' "$work/vectors" testdata/codes/*.json
"$findslip" check "$work"/vectors/*.findslip.json --report sarif --level full --as-of 2026-04-12 --fail-on never -o "$work/vectors.sarif" --force --quiet 2>/dev/null || true
"$findslip" check examples/thornmere/season.findslip.json examples/thornmere/season.csv --report sarif --as-of 2026-04-12 --fail-on never -o "$work/season.sarif" --force --quiet
"$findslip" check examples/thornmere/season.xlsx --report json --as-of 2020-01-01 --fail-on never -o "$work/old-notices.json" --force --quiet
"$findslip" check examples/thornmere/season.xlsx --report sarif --baseline "$work/old-notices.json" --level full --fail-on never -o "$work/compared.sarif" --force --quiet
go run ./.ci/sarifverdict "$dir/report/sarif/testdata/sarif-schema-2.1.0.json" "$work"/*.sarif >"$work/sarif-verdicts"
echo "$(wc -l <"$work/sarif-verdicts") SARIF files are as the schema of the standard has it"

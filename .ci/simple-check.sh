#!/usr/bin/env bash
# simple-check.sh FINDSLIP: the samples of Findslip Simple write the same report, meet the suite, and what they and the form write is
# a report that the command takes without an error. Exits 3 where Kotlin or Chromium is not here, after the rest was checked.
set -euo pipefail
findslip=$1
cd "$(dirname "$0")/.."
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
missing=0
go build -o "$work/simple" ./examples/simple
go build -o "$work/standard" ./cmd/standard
for sample in "python3 examples/simple/simple.py" "node examples/simple/simple.mjs" "$work/simple"; do
	$sample | cmp - examples/simple/one.findslip.json
	"$work/standard" suite -target simple -- $sample conformance | tail -n 1 | sed "s|^|${sample##*/}: |"
done
same() { python3 -c 'import json, sys; sys.exit(json.load(open(sys.argv[1])) != json.load(open(sys.argv[2])))' "$@"; }
if command -v kotlinc >/dev/null; then
	kotlinc examples/simple/Simple.kt -include-runtime -d "$work/kotlin.jar" 2>/dev/null
	java -jar "$work/kotlin.jar" >"$work/kotlin.json"
	same "$work/kotlin.json" examples/simple/one.findslip.json
	echo "Simple.kt: the same report"
else
	missing=3
fi
"$findslip" check --quiet examples/simple/one.findslip.json >/dev/null
if command -v "${CHROMIUM:-chromium}" >/dev/null; then
	node .ci/form-check.mjs "$work/form.findslip.json"
	"$findslip" check --quiet "$work/form.findslip.json" >/dev/null
	printf '{"id":"s","operation":"schema","options":{"schema":"simple"},"input":{"json":%s}}\n' "$(tr -d '\n' <"$work/form.findslip.json")" |
		"$findslip" conformance | grep -q '"valid":true'
else
	missing=3
fi
exit $missing

#!/usr/bin/env bash
# generated-types.sh PEERS REPORTS: general generators make types of schema/bundle/report.types.schema.json for TypeScript, Python, Go,
# Kotlin, Swift, C# and Rust. Python and Go read and write every report of the list REPORTS without a loss; TypeScript and, where its
# compiler is here, Kotlin are compiled. For the others nothing is compiled, which is said.
set -euo pipefail
peers=$(cd "$1" && pwd) reports=$2
cd "$(dirname "$0")/.."
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
types=schema/bundle/report.types.schema.json
make() { node "$peers/node_modules/quicktype/dist/index.js" -s schema "$types" -t Report "$@" >"$work/said" 2>&1 || { cat "$work/said"; exit 1; }; }

node "$peers/node_modules/json-schema-to-typescript/dist/src/cli.js" -i "$types" -o "$work/report.d.ts"
grep -q '^export interface Find ' "$work/report.d.ts"
if grep -qE '^export (interface|type) [A-Za-z]+[0-9] ' "$work/report.d.ts"; then echo "a type has a number for a name"; exit 1; fi
{
	echo 'import type { Report, Find, Depth } from "./report";'
	n=0
	while read -r report; do n=$((n + 1)); printf 'export const r%d: Report = ' "$n"; cat "$report"; echo ';'; done <"$reports"
	echo 'export const deepest = (r: Report): number => Math.max(0, ...(r.finds ?? []).map((f: Find): number => { const d: Depth | undefined = f.depth; return d?.max ?? 0; }));'
} >"$work/use.ts"
node "$peers/node_modules/typescript/bin/tsc" --strict --noEmit --module nodenext --target es2022 "$work/use.ts"
echo "TypeScript: $(grep -c '^export' "$work/report.d.ts") types; every report is one under strict"

make -l python --python-version 3.7 -o "$work/report.py"
grep -q '^class Find:' "$work/report.py"
python3 -c 'import dateutil' 2>/dev/null || { mkdir -p "$work/dateutil"; printf 'import datetime\ndef parse(s): return datetime.datetime.fromisoformat(s.replace("Z", "+00:00"))\n' >"$work/dateutil/parser.py"; touch "$work/dateutil/__init__.py"; }
PYTHONPATH=$work python3 - "$reports" <<'PY'
import json, re, sys
import report
DAY = re.compile(r"^(\d{4}-\d\d-\d\d)T00:00:00(\+00:00)?$")
def same(a, b, where=""):
    if isinstance(a, dict):
        for k in a:
            if k not in b: raise SystemExit(f"{where}/{k} is lost")
            same(a[k], b[k], f"{where}/{k}")
    elif isinstance(a, list):
        if len(a) != len(b): raise SystemExit(f"{where}: items are lost")
        for i, (x, y) in enumerate(zip(a, b)): same(x, y, f"{where}/{i}")
    elif a != b and not (isinstance(a, str) and re.match(r"^\d{4}-", a)): # days and moments come back in another spelling
        raise SystemExit(f"{where}: {a!r} is {b!r}")
n = 0
for name in open(sys.argv[1]).read().split():
    doc = json.load(open(name))
    same(doc, report.report_to_dict(report.report_from_dict(doc)))
    n += 1
print(f"Python: {n} reports read and written without a loss")
PY

mkdir "$work/go"
make -l go --package main -o "$work/go/report.go"
cat >"$work/go/main.go" <<'GO'
package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"reflect"
	"strings"
)

func main() {
	list, _ := os.ReadFile(os.Args[1])
	names := strings.Fields(string(list))
	for _, name := range names {
		raw, err := os.ReadFile(name)
		if err != nil {
			panic(err)
		}
		r, err := UnmarshalReport(raw)
		if err != nil {
			panic(name + ": " + err.Error())
		}
		again, err := r.Marshal()
		if err != nil {
			panic(err)
		}
		var a, b any
		for text, to := range map[*[]byte]*any{&raw: &a, &again: &b} {
			dec := json.NewDecoder(bytes.NewReader(*text))
			if err := dec.Decode(to); err != nil {
				panic(err)
			}
		}
		if !reflect.DeepEqual(a, b) {
			fmt.Println(name, "comes back otherwise")
			os.Exit(1)
		}
	}
	fmt.Println("Go:", len(names), "reports read and written without a loss")
}
GO
(cd "$work/go" && printf 'module types\n\ngo 1.24\n' >go.mod && go build -o ../types . )
"$work/types" "$reports"

make -l kotlin --framework just-types --package types -o "$work/Report.kt"
grep -q 'class Find' "$work/Report.kt"
if command -v kotlinc >/dev/null; then
	kotlinc "$work/Report.kt" -d "$work/kotlin" 2>/dev/null && echo 'Kotlin: compiled'
else
	echo 'Kotlin: made, not compiled here'
fi
for language in swift cs rust; do
	make -l "$language" -o "$work/report.$language"
	grep -qE '(struct|class) Find\b' "$work/report.$language"
	echo "$language: made, not compiled here"
done

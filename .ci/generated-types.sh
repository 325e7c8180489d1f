#!/usr/bin/env bash
# generated-types.sh PEERS REPORTS EVERY: general generators make types of schema/bundle/report.types.schema.json for TypeScript, Python, Go,
# Kotlin, Swift, C# and Rust. Python, Go and, where cargo and the packages of Debian are to be had, Rust read and write every report of the
# list EVERY without a loss; TypeScript and, where their compilers are here, Kotlin, C# and Swift are compiled. What is not is said. EVERY are the
# reports that Python, Go and Rust read and write: all that are valid, but those with members that nobody knows, which such types drop.
set -euo pipefail
peers=$(cd "$1" && pwd) reports=$2 every=$3
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
PYTHONPATH=$work python3 - "$every" <<'PY'
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

// full leaves out lists and objects without anything in them, as these types do.
func full(v any) any {
	switch v := v.(type) {
	case map[string]any:
		for k, x := range v {
			if v[k] = full(x); v[k] == nil {
				delete(v, k)
			}
		}
		if len(v) == 0 {
			return nil
		}
	case []any:
		if len(v) == 0 {
			return nil
		}
		for i := range v {
			v[i] = full(v[i])
		}
	}
	return v
}

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
		if !reflect.DeepEqual(full(a), full(b)) {
			fmt.Println(name, "comes back otherwise")
			os.Exit(1)
		}
	}
	fmt.Println("Go:", len(names), "reports read and written without a loss")
}
GO
(cd "$work/go" && printf 'module types\n\ngo 1.24\n' >go.mod && go build -o ../types . )
"$work/types" "$every"

make -l kotlin --framework just-types --package types -o "$work/Report.kt"
grep -q 'class Find' "$work/Report.kt"
if command -v kotlinc >/dev/null; then
	kotlinc "$work/Report.kt" -d "$work/kotlin" 2>/dev/null && echo 'Kotlin: compiled'
else
	echo 'Kotlin: made, not compiled here'
fi
make -l cs --framework SystemTextJson --features just-types -o "$work/types.cs"
grep -q 'class Find' "$work/types.cs"
sed -i '1i using System;' "$work/types.cs" # the generator forgets it with just-types
if command -v mcs >/dev/null; then
	mcs -target:library "$work/types.cs" -out:"$work/types.dll" && echo 'C#: compiled'
else
	echo 'C#: made, not compiled here'
fi
make -l swift --just-types -o "$work/types.swift"
grep -q 'struct Find' "$work/types.swift"
if command -v swiftc >/dev/null; then
	swiftc -parse-as-library -emit-module -o "$work/types.swiftmodule" "$work/types.swift" && echo 'Swift: compiled'
else
	echo 'Swift: made, not compiled here'
fi

mkdir -p "$work/rust/src" "$work/rust/.cargo" "$work/debs"
make -l rust --visibility public -o "$work/rust/src/report.rs"
grep -q 'struct Find' "$work/rust/src/report.rs"
printf '[package]\nname = "types"\nversion = "0.0.0"\nedition = "2021"\n[dependencies]\nserde = { version = "1", features = ["derive"] }\nserde_json = "1"\n' >"$work/rust/Cargo.toml"
printf '[source.crates-io]\nreplace-with = "debian"\n[source.debian]\ndirectory = "%s"\n' "$work/debs/usr/share/cargo/registry" >"$work/rust/.cargo/config.toml"
cat >"$work/rust/src/main.rs" <<'RUST'
mod report;
use serde_json::Value;

// kept reports whether all of a comes back in b.
fn kept(a: &Value, b: &Value) -> bool {
    match (a, b) {
        (Value::Object(a), Value::Object(b)) => a.iter().all(|(k, v)| b.get(k).map_or(false, |w| kept(v, w))),
        (Value::Array(a), Value::Array(b)) => a.len() == b.len() && a.iter().zip(b).all(|(v, w)| kept(v, w)),
        (Value::Number(a), Value::Number(b)) => a.as_f64() == b.as_f64(),
        _ => a == b,
    }
}

fn main() {
    let list = std::fs::read_to_string(std::env::args().nth(1).unwrap()).unwrap();
    for name in list.split_whitespace() {
        let text = std::fs::read_to_string(name).unwrap();
        let report: report::Report = serde_json::from_str(&text).unwrap_or_else(|e| panic!("{name}: {e}"));
        let before: Value = serde_json::from_str(&text).unwrap();
        assert!(kept(&before, &serde_json::to_value(&report).unwrap()), "{name} comes back otherwise");
    }
    println!("Rust: {} reports read and written without a loss", list.split_whitespace().count());
}
RUST
# The packages that Debian has of serde are taken apart here; nothing is installed.
packages() {
	cd "$work/debs" && apt-get install --download-only -y --no-install-recommends -o Dir::Cache::archives="$PWD" librust-serde-json-dev librust-serde-dev librust-serde-derive-dev &&
		for package in librust-*.deb; do dpkg -x "$package" .; done
}
if command -v cargo >/dev/null && (packages) </dev/null >"$work/said" 2>&1 && [ -d "$work/debs/usr/share/cargo/registry" ]; then
	(cd "$work/rust" && cargo build -q --offline 2>"$work/said" || { tail -n 20 "$work/said"; exit 1; })
	"$work/rust/target/debug/types" "$every"
else
	echo 'Rust: made, not compiled here'
fi

#!/usr/bin/env bash
# types-check.sh PEERS: the types of the browser's wrapper by the TypeScript compiler under strict, with uses that are right and
# uses that are wrong; and that the wrapper itself is what its types say.
set -euo pipefail
peers=$(cd "$1" && pwd)
cd "$(dirname "$0")/.."
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cp .ci/typecheck/*.mts examples/browser/findslip.mjs "$work"
cp examples/browser/findslip.d.ts "$work/findslip.d.mts" # the name that goes with .mjs
tsc() { (cd "$work" && node "$peers/node_modules/typescript/bin/tsc" --strict --exactOptionalPropertyTypes --noEmit --module nodenext --target es2022 --lib es2022,dom "$@"); }
tsc right.mts wrong.mts
# The compiler does see what is wrong: without the marks every line below one is refused.
sed '/@ts-expect-error/d' "$work/wrong.mts" >"$work/bare.mts"
marks=$(grep -c '@ts-expect-error' "$work/wrong.mts")
refused=$(tsc bare.mts | grep -oE '^bare\.mts\([0-9]+' | sort -u | wc -l || true)
if [ "$refused" != "$marks" ]; then echo "$marks lines are marked as wrong, $refused are refused"; exit 1; fi
# The wrapper has the members that its types have, no more and no fewer.
node --input-type=module -e '
const { Findslip } = await import("file://" + process.argv[1] + "/findslip.mjs");
const { readFileSync } = await import("node:fs");
const types = readFileSync(process.argv[1] + "/findslip.d.mts", "utf8").split("export declare class Findslip")[1];
const typed = [...types.matchAll(/^  (\w+)\(/gm)].map((m) => m[1]).sort().join();
const real = Object.getOwnPropertyNames(Findslip.prototype).sort().join();
if (typed !== real) { console.log(`the types have ${typed}, the wrapper has ${real}`); process.exit(1); }
' "$work"
echo "right uses are taken under strict, $refused wrong ones are refused"

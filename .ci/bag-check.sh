#!/usr/bin/env bash
# bag-check.sh FINDSLIP REPORT WORK: seals a hand-over, and asks another implementation of BagIt whether it is
# whole, and whether it finds damage where we find it. That implementation is built outside this module.
set -euo pipefail
findslip=$1 report=$2 work=$3/bag
peer=github.com/nyudlts/go-bagit@v0.2.0-alpha
mkdir -p "$work/peer"
printf 'module peer\n\ngo 1.26\n' >"$work/peer/go.mod"
if ! (cd "$work/peer" && GOFLAGS=-mod=mod go get "$peer" && GOFLAGS=-mod=mod go build -o ../go-bagit "${peer%@*}/main") >"$work/built" 2>&1; then
	tail -n 1 "$work/built"
	echo 'NOT CHECKED: another implementation of BagIt cannot be had here'
	exit 0
fi
# The peer ends with status 0 whatever it finds: its words count.
whole() { "$work/go-bagit" validate --bag "$1" >"$work/said" 2>&1 && grep -q ' is valid' "$work/said" && ! grep -q ERROR "$work/said"; }
for audience in self recorder public; do
	"$findslip" pack "$report" --for "$audience" --hold-back -o "$work/$audience" --fail-on never --quiet
	(cd "$work/$audience" && sha256sum --check --strict --quiet manifest-sha256.txt tagmanifest-sha256.txt)
	"$findslip" unpack "$work/$audience" --quiet
	whole "$work/$audience" || { cat "$work/said"; exit 1; }
	"$findslip" pack "$report" --for "$audience" --hold-back -o "$work/$audience.zip" --fail-on never --quiet
	"$findslip" unpack "$work/$audience.zip" -o "$work/$audience-zip" --quiet
	whole "$work/$audience-zip/$audience" || { cat "$work/said"; exit 1; }
done
damaged() {
	if whole "$work/self"; then echo "the peer takes a bag for whole: $1"; exit 1; fi
	if "$findslip" unpack "$work/self" >"$work/said" 2>&1; then echo "we take a bag for whole: $1"; exit 1; fi
}
echo changed >>"$work/self/data/README.txt"
damaged 'a changed file'
rm "$work/self/data/README.txt"
damaged 'a missing file'
echo "bags for three audiences, as folder and as zip: whole for go-bagit, sha256sum and unpack; damage is found by both"

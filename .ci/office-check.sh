#!/usr/bin/env bash
# Has LibreOffice open our workbook and save it again: both must give the same report. Differences that
# are agreed would be lines of the diff listed in agreed below, with the reason; there are none.
# Usage: office-check.sh FINDSLIP REPORT FOLDER_FOR_SCRATCH
set -euo pipefail
findslip=$1 report=$2 work=$3
agreed='^$'
mkdir -p "$work/office"
"$findslip" convert "$report" -o "$work/ours.xlsx" --fail-on never --quiet
if ! (cd "$work" && HOME="$work" timeout 180 soffice --headless --convert-to xlsx --outdir office ours.xlsx </dev/null >office/talk 2>&1) || [ ! -s "$work/office/ours.xlsx" ]; then
	cat "$work/office/talk"
	echo 'LibreOffice did not save our workbook'
	exit 1
fi
if cmp -s "$work/ours.xlsx" "$work/office/ours.xlsx"; then
	echo 'the workbook was copied, not saved again'
	exit 1
fi
"$findslip" convert "$work/ours.xlsx" -o "$work/before.findslip.json" --fail-on never --quiet
"$findslip" convert "$work/office/ours.xlsx" -o "$work/after.findslip.json" --fail-on never --quiet
for pair in before:after report:before; do
	one="$work/${pair%:*}.findslip.json" two="$work/${pair#*:}.findslip.json"
	if [ "${pair%:*}" = report ]; then one=$report; fi
	if diff "$one" "$two" | grep '^[<>]' | grep -vE "$agreed"; then
		echo "these lines differ, ${pair%:*} from ${pair#*:}"
		exit 1
	fi
done
echo 'a workbook saved again by LibreOffice gives the same report, byte for byte'

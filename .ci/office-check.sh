#!/usr/bin/env bash
# Has LibreOffice open our workbook, our CSV and our template and save them again: what comes back must
# give the same report. CSV is opened as its dialogue offers it: UTF-8, every column as text. Differences
# that are agreed would be lines of the diff listed in agreed below, with the reason; there are none.
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

id=urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e
"$findslip" convert "$report" -o "$work/ours.csv" --fail-on never --quiet
text=$(head -n 1 "$work/ours.csv" | awk -F, '{ for (i = 1; i <= NF; i++) printf "%s%d/2", (i > 1 ? "/" : ""), i }')
if ! (cd "$work" && HOME="$work" timeout 180 soffice --headless --infilter="CSV:44,34,76,1,$text" --convert-to 'csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false' --outdir office ours.csv </dev/null >office/talk 2>&1) || [ ! -s "$work/office/ours.csv" ]; then
	cat "$work/office/talk"
	echo 'LibreOffice did not save our CSV'
	exit 1
fi
for folder in . office; do
	"$findslip" convert "$work/$folder/ours.csv" -o "$work/$folder/csv.findslip.json" --report-id "$id" --fail-on never --quiet
done
if ! diff "$work/csv.findslip.json" "$work/office/csv.findslip.json"; then
	echo 'our CSV, saved again by LibreOffice, gives another report'
	exit 1
fi
echo 'a CSV file saved again by LibreOffice gives the same report, byte for byte'

"$findslip" template -o "$work/template.xlsx" --full --quiet
(cd "$work" && HOME="$work" timeout 180 soffice --headless --convert-to xlsx --outdir office template.xlsx </dev/null >office/talk 2>&1)
lists() { unzip -p "$1" xl/worksheets/sheet1.xml | grep -o 'type="list"' | wc -l; }
had=$(lists "$work/template.xlsx") has=$(lists "$work/office/template.xlsx")
if [ "$had" -lt 10 ] || [ "$had" != "$has" ]; then
	echo "of $had lists of the template $has came back from LibreOffice"
	exit 1
fi
"$findslip" columns "$work/template.xlsx" >"$work/columns" && "$findslip" columns "$work/office/template.xlsx" >"$work/office/columns"
if ! diff "$work/columns" "$work/office/columns"; then exit 1; fi
"$findslip" convert "$work/office/template.xlsx" -o "$work/template.findslip.json" --fail-on never --quiet
if ! grep -q '"finds": \[\]' "$work/template.findslip.json"; then
	echo 'the example of the template is read as a find'
	exit 1
fi
echo "a template saved again by LibreOffice keeps its $has lists and its headings"

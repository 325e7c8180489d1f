#!/usr/bin/env bash
# Holds our GPX and KML to the schemas of the standards: GPX 1.1 and OGC KML 2.2. The schemas are not
# ours to keep here: they are taken out of a Debian package that carries them.
# Usage: xml-check.sh FOLDER_WITH_MAP_FILES FOLDER_FOR_SCRATCH
set -euo pipefail
maps=$1 work=$2/schemas
mkdir -p "$work"
# Where the fetching is done by the user _apt, it must be able to write here.
chmod 755 "$work"
fetch() { timeout 120 apt-get download pytrainer </dev/null >talk 2>&1; }
update() { [ "$(id -u)" = 0 ] && timeout 120 apt-get update </dev/null >/dev/null 2>&1; }
if ! (cd "$work" && { fetch || { update && fetch; }; } && dpkg-deb -x pytrainer_*.deb .); then
	echo 'NOT CHECKED: the schemas of GPX and KML cannot be had here'
	exit 0
fi
schemas=$work/usr/share/pytrainer/schemas
hold() {
	local schema=$1 name=$2 files
	shift 2
	files=$#
	if ! xmllint --nonet --noout --schema "$schemas/$schema" "$@" >"$work/verdicts" 2>&1; then
		grep -v ' validates$' "$work/verdicts" | head -n 20
		echo "the schema of $name refuses some of our files"
		exit 1
	fi
	echo "$files files are valid by the schema of $name"
}
# A checker that refuses nothing is no checker.
printf '<gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1"><wpt lat="0" lon="180"/></gpx>' >"$work/bad.gpx"
printf '<kml xmlns="http://www.opengis.net/kml/2.2"><Placemark><Point/><name>x</name></Placemark></kml>' >"$work/bad.kml"
for bad in "Topografix_gpx11.xsd bad.gpx" "ogckml22.xsd bad.kml"; do
	status=0
	xmllint --nonet --noout --schema "$schemas/${bad% *}" "$work/${bad#* }" >/dev/null 2>&1 || status=$?
	if [ "$status" != 3 ] && [ "$status" != 4 ]; then # the file is not valid
		echo "the schema ${bad% *} does not refuse what is wrong: status $status"
		exit 1
	fi
done
hold Topografix_gpx11.xsd 'GPX 1.1' "$maps"/*.gpx
hold ogckml22.xsd 'OGC KML 2.2' "$maps"/*.kml

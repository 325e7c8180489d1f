// Has GDAL read what we write: as many features as there are finds and areas, and each point of a map
// format where the report has it, longitude and latitude the right way round. And do we read GDAL's files.
// The program is one that writes GeoPackage too (go build -tags gpkg).
// Usage: node maps-check.mjs FINDSLIP REPORT FOLDER_FOR_SCRATCH
import { readFileSync, rmSync, writeFileSync } from "node:fs";
import { execFileSync } from "node:child_process";

const [findslip, file, folder] = process.argv.slice(2);
const run = (command, ...args) => execFileSync(command, args, { encoding: "utf8", maxBuffer: 1 << 26, stdio: ["ignore", "pipe", "inherit"] });
const report = JSON.parse(readFileSync(file, "utf8"));
const places = report.finds.filter((f) => typeof f.position?.longitude === "number").map((f) => `${f.position.longitude} ${f.position.latitude}`).sort();
const areas = report.permissions.reduce((n, p) => n + 1 + (p.excluded?.length ?? 0), 0);

let wrong = 0;
const hold = (what, got, want) => {
  if (got === want) return;
  wrong++;
  console.log(`${what}: GDAL reads ${got}, the report has ${want}`);
};
hold("finds of the example", report.finds.length > 10 && places.length > 10 && areas > 0, true);

// The layer that holds the finds, where a file has several, and how many features it has.
for (const [format, layer, want, points] of [
  ["geojson", "", report.finds.length + areas, true],
  ["kml", "", [report.permissions.length, areas - report.permissions.length || [], report.finds.length].flat().join("+"), true], // a layer a folder
  ["gpx", "waypoints", places.length, true], // GPX has no waypoint without a place
  ["csv", "", report.finds.length, false],
  ["gpkg", "", [report.finds.length, report.permissions.length, areas - report.permissions.length, 3, 1].join("+"), true], // finds, land, styles, report
]) {
  const out = `${folder}/maps.${format}`;
  run(findslip, "convert", file, "-o", out, "--force", "--fail-on", "never", "--quiet");
  const named = layer ? [layer] : [];
  const counts = [...run("ogrinfo", "-ro", "-al", "-so", out, ...named).matchAll(/^Feature Count: (\d+)$/gm)].map((m) => Number(m[1]));
  hold(`${format}, features`, counts.join("+"), String(want));
  if (points) {
    // Written again by GDAL as GeoJSON, whose order of axes is fixed by RFC 7946.
    const read = JSON.parse(run("ogr2ogr", "-f", "GeoJSON", "-lco", "COORDINATE_PRECISION=15", "/vsistdout/", out, ...({ kml: ["Finds"], gpkg: ["finds"] }[format] ?? named)));
    const got = read.features.filter((f) => f.geometry?.type === "Point").map((f) => f.geometry.coordinates.slice(0, 2).join(" ")).sort();
    hold(`${format}, points`, got.join("; "), places.join("; "));
  }
  console.log(`${format}: ${counts.join("+")} features${points ? `, ${places.length} points` : ""}`);
}

// A GeoPackage has the same columns with the same types for every log, names that other map files do not cut, all that
// is said of each find, and the same bytes again.
const columns = (file) => run("ogrinfo", "-ro", "-so", file, "finds").split("\n").filter((l) => /^\w+: (String|Real|Date|Integer64) /.test(l)).join();
const small = { findslip: "1.0", id: report.id, finds: [{ id: report.finds[0].id, number: "1" }] };
writeFileSync(`${folder}/small.findslip.json`, JSON.stringify(small));
for (const name of ["small.gpkg", "again.gpkg"]) run(findslip, "convert", name === "small.gpkg" ? `${folder}/small.findslip.json` : file, "-o", `${folder}/${name}`, "--force", "--fail-on", "never", "--quiet");
hold("columns of a small GeoPackage", columns(`${folder}/small.gpkg`), columns(`${folder}/maps.gpkg`));
hold("columns with long names", columns(`${folder}/maps.gpkg`).split(",").filter((c) => c.split(":")[0].length > 10).length, 0);
hold("columns", columns(`${folder}/maps.gpkg`).split(",").length, 23);
hold("a GeoPackage made twice", readFileSync(`${folder}/again.gpkg`).equals(readFileSync(`${folder}/maps.gpkg`)), true);
const records = JSON.parse(run("ogr2ogr", "-f", "GeoJSON", "/vsistdout/", `${folder}/maps.gpkg`, "finds")).features.map((f) => (typeof f.properties.record === "string" ? JSON.parse(f.properties.record) : f.properties.record));
hold("records of a GeoPackage", JSON.stringify(records), JSON.stringify(report.finds));

// GDAL tells types by what it sees: those of depths, weights and the first and last day are the same whatever a log holds.
for (const [date, depth] of [["2026-04", 20], ["2026-03-25", 17.78]]) {
  const one = { findslip: "1.0", id: report.id, finds: [{ id: report.finds[0].id, found: { date }, depth: { min: depth, max: depth, unit: "cm" } }] };
  writeFileSync(`${folder}/one.findslip.json`, JSON.stringify(one));
  run(findslip, "convert", `${folder}/one.findslip.json`, "-o", `${folder}/one.geojson`, "--force", "--fail-on", "never", "--quiet");
  const types = Object.fromEntries([...run("ogrinfo", "-ro", "-al", "-so", `${folder}/one.geojson`).matchAll(/^([\w.]+): (\w+) \(/gm)].map((m) => m.slice(1)));
  hold(`types at ${date}`, [types["depth.min"], types["found.first"], types["found.last"]].join(" "), "Real Date Date");
}

// Numbers of finds in KML have their type from the schema in the file.
const kml = run("ogrinfo", "-ro", "-al", "-so", `${folder}/maps.kml`, "Finds");
hold("KML, types", ["depth.min", "position.uncertainty", "weight.max"].map((name) => new RegExp(`^${name}: (\\w+)`, "m").exec(kml)?.[1]).join(), "Real,Real,Real");

// The other way round: files that GDAL makes, with names of its user's own, are read with the right
// counts, numbers and places.
const numbers = report.finds.filter((f) => typeof f.position?.longitude === "number").map((f) => f.number ?? "").sort();
for (const [driver, ending, ...options] of [["GeoJSON", "geojson", "-lco", "RFC7946=YES"], ["KML", "kml"], ["GPX", "gpx", "-dsco", "GPX_USE_EXTENSIONS=YES", "-nlt", "POINT"]]) {
  const file = `${folder}/theirs.${ending}`;
  rmSync(file, { force: true });
  run("ogr2ogr", "-f", driver, ...options, file, `${folder}/maps.geojson`, "-sql", `SELECT number AS Fundnummer, name AS Fund FROM maps WHERE record = 'find' AND OGR_GEOMETRY = 'POINT'`);
  const finds = JSON.parse(run(findslip, "convert", file, "--to", "findslip", "-o", "-", "--fail-on", "never", "--quiet")).finds;
  hold(`${driver} of GDAL, numbers`, finds.map((f) => f.number ?? "").sort().join("; "), numbers.join("; "));
  hold(`${driver} of GDAL, points`, finds.map((f) => `${f.position.longitude} ${f.position.latitude}`).sort().join("; "), places.join("; "));
  console.log(`${driver} of GDAL: ${finds.length} finds`);
}
process.exit(wrong === 0 ? 0 : 1);

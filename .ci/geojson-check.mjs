// Is every GeoJSON file that we write GeoJSON to others: a general checker and the JSON schema of
// GeoJSON, neither of which knows our format. First both are shown the examples of the reference table,
// so that a checker that says yes to everything is noticed.
// Usage: PEERS=FOLDER_WITH_NODE_MODULES node geojson-check.mjs RULES.csv FILE.geojson...
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

const peers = process.env.PEERS;
const require = createRequire(`${peers}/package.json`);
const { check } = require("@placemarkio/check-geojson");
const Ajv = require("ajv");
const schema = JSON.parse(readFileSync(`${peers}/node_modules/geojson-schema/GeoJSON.json`, "utf8"));
const valid = new Ajv({ strict: false }).compile(schema);

const [rules, ...files] = process.argv.slice(2);
const accepts = (text) => {
  try {
    check(text);
    return true;
  } catch {
    return false;
  }
};

// RFC 4180, as far as the table needs it.
const table = (text) => {
  const rows = [[""]];
  let quoted = false;
  for (let i = 0; i < text.length; i++) {
    const c = text[i], row = rows.at(-1);
    if (quoted) {
      if (c !== '"') row[row.length - 1] += c;
      else if (text[i + 1] === '"') row[row.length - 1] += text[++i];
      else quoted = false;
    } else if (c === '"') quoted = true;
    else if (c === ",") row.push("");
    else if (c === "\n") rows.push([""]);
    else if (c !== "\r") row[row.length - 1] += c;
  }
  const [head, ...rest] = rows.filter((r) => r.length > 1);
  return rest.map((r) => Object.fromEntries(head.map((h, i) => [h, r[i]])));
};

let wrong = 0, asked = 0;
const fail = (what) => {
  wrong++;
  console.log(what);
};
for (const r of table(readFileSync(rules, "utf8"))) {
  for (const [example, verdict] of [[r.bad_example, r.check_bad_example], [r.good_example, r.check_good_example]]) {
    if (verdict !== "rejects" && verdict !== "accepts") continue;
    asked++;
    if (accepts(example) !== (verdict === "accepts")) fail(`${r.id}: the checker no longer ${verdict} ${example}`);
  }
}
if (asked < 20) fail(`only ${asked} examples of the table were tried`);
if (valid({ type: "Feature", geometry: { type: "Point", coordinates: ["1", "2"] }, properties: {} })) fail("the schema of GeoJSON refuses nothing");

let features = 0;
for (const file of files) {
  const text = readFileSync(file, "utf8");
  try {
    check(text);
  } catch (e) {
    fail(`${file}: ${e.message} ${JSON.stringify(e.issues?.slice(0, 3) ?? "")}`);
  }
  const read = JSON.parse(text);
  features += read.features.length;
  if (!valid(read)) fail(`${file}: ${JSON.stringify(valid.errors.slice(0, 3))}`);
}
if (files.length === 0 || features === 0) fail("there was nothing to check");
console.log(`${files.length} files with ${features} features are GeoJSON to a general checker and to the schema of GeoJSON; ${asked} examples of the table as it says`);
process.exit(wrong === 0 ? 0 : 1);

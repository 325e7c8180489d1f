// Compares a general-purpose validator of JSON Schema 2020-12 (ajv) with our own verdicts over every
// report below testdata and examples, and has it judge a report of notices that we wrote.
// Usage: node schema-check.mjs VERDICTS NOTICES (verdicts are lines of file<TAB>true|false).
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

const require = createRequire(process.env.PEERS + "/");
const Ajv = require("ajv/dist/2020").default;
const addFormats = require("ajv-formats").default;

const read = (file) => JSON.parse(readFileSync(file, "utf8"));
const ajv = new Ajv({ strict: false, allErrors: false, unicodeRegExp: true, validateFormats: true });
addFormats(ajv);
for (const name of ["find", "report", "notices"]) ajv.addSchema(read(`schema/${name}.schema.json`));
const report = ajv.getSchema("https://w3id.org/findslip/1/report");
const notices = ajv.getSchema("https://w3id.org/findslip/1/notices");

let wrong = 0;
const fail = (line) => { wrong++; console.log(line); };
const seen = {};
for (const line of readFileSync(process.argv[2], "utf8").trim().split("\n")) {
  const [file, ours] = line.split("\t");
  const group = ["testdata/valid", "examples", "draws", "near"].find((g) => file.includes(g + "/"));
  const whole = group === "testdata/valid" || group === "examples";
  const theirs = report(read(file));
  const count = (seen[group] ??= { valid: 0, refused: 0 });
  count[theirs ? "valid" : "refused"]++;
  if (String(theirs) !== ours) fail(`${file}: ours ${ours}, ajv ${theirs}: ${ajv.errorsText(report.errors)}`);
  else if (whole && !theirs) fail(`${file}: is to be valid, and is not: ${ajv.errorsText(report.errors)}`);
}
for (const [group, n] of Object.entries(seen)) console.log(`${group}: ${n.valid} valid and ${n.refused} refused by both`);
// A comparison over nothing, or over one kind of verdict only, would prove nothing.
for (const group of ["testdata/valid", "near", "draws", "examples"]) if (!seen[group]?.valid) fail(`${group}: nothing was compared`);
if (!(seen["draws"]?.refused > 20)) fail("too few invalid reports were compared");

const said = read(process.argv[3]);
if (!notices(said)) fail(`the notices are not as their schema has them: ${ajv.errorsText(notices.errors)}`);
if (!(said.notices?.length > 5 && said.read?.length > 5)) fail("too few notices and readings to judge");
console.log(`a report of ${said.notices?.length} notices and ${said.read?.length} readings is as its schema has it`);
process.exit(wrong === 0 ? 0 : 1);

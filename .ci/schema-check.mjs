// Compares a general-purpose JSON Schema validator (ajv) with our own verdicts over every report
// below testdata and examples. Usage: node schema-check.mjs VERDICTS (lines of file<TAB>true|false).
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

const require = createRequire(process.env.PEERS + "/");
const Ajv = require("ajv/dist/2020").default;
const addFormats = require("ajv-formats").default;

const ajv = new Ajv({ strict: false, allErrors: false, unicodeRegExp: true, validateFormats: true });
addFormats(ajv);
for (const name of ["find", "report", "notices"]) {
  ajv.addSchema(JSON.parse(readFileSync(`schema/${name}.schema.json`, "utf8")));
}
const validate = ajv.getSchema("https://w3id.org/findslip/1/report");

let same = 0;
let different = 0;
let valid = 0;
for (const line of readFileSync(process.argv[2], "utf8").trim().split("\n")) {
  const [file, ours] = line.split("\t");
  const doc = JSON.parse(readFileSync(file, "utf8"));
  const theirs = validate(doc.report ?? doc);
  if (String(theirs) === ours) {
    same++;
    if (theirs) valid++;
    continue;
  }
  different++;
  console.log(`${file}: ours ${ours}, ajv ${theirs}: ${ajv.errorsText(validate.errors)}`);
}
console.log(`schema verdicts: ${same} alike (${valid} valid), ${different} different`);
process.exit(different === 0 && same > 200 ? 0 : 1);

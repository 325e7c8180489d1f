// The schema part of the conformance suite through two validators of JSON Schema 2020-12 that share no
// code with ajv or with ours. Each vector of the operation schema must come out as the suite expects;
// besides, every report of the suite that draws no notice of the schema must be valid.
// Usage: node suite-check.mjs (in the folder of the project, PEERS names that of the packages)
import { readFileSync, readdirSync } from "node:fs";
import { createRequire } from "node:module";
import { pathToFileURL } from "node:url";

const require = createRequire(process.env.PEERS + "/");
const at = (name) => import(pathToFileURL(require.resolve(name)).href);
const read = (file) => JSON.parse(readFileSync(file, "utf8"));
const dialect = "https://json-schema.org/draft/2020-12/schema";
const names = ["find", "report"];
const base = "https://w3id.org/findslip/1/";

const { Validator } = await at("@cfworker/json-schema");
const cf = new Validator(read("schema/report.schema.json"), "2020-12", true);
cf.addSchema(read("schema/find.schema.json"));

const hyper = await at("@hyperjump/json-schema/draft-2020-12");
await at("@hyperjump/json-schema/formats");
hyper.setShouldValidateFormat(true);
for (const name of names) hyper.registerSchema(read(`schema/${name}.schema.json`), base + name, dialect);
const compiled = await hyper.validate(base + "report");

const peers = { "@cfworker/json-schema": (doc) => cf.validate(doc).valid, "@hyperjump/json-schema": (doc) => compiled(doc, "FLAG").valid };

const point = (doc, pointer) => (pointer ?? "").split("/").slice(1).reduce((v, token) => v[token.replaceAll("~1", "/").replaceAll("~0", "~")], doc);
const given = (input) => (input.json !== undefined ? input.json : input.file && point(read(input.file), input.pointer));

let wrong = 0;
const count = {};
for (const folder of ["required", "optional", "proposed"]) {
  for (const file of readdirSync(`testdata/suite/${folder}`)) {
    for (const v of read(`testdata/suite/${folder}/${file}`)) {
      let want;
      if (v.operation === "schema" && v.options.schema !== "report") continue; // bundle-check.mjs asks these
      if (v.operation === "schema") want = v.expect.value.valid;
      else if (v.operation === "validate" && v.expect.notices) {
        if (v.expect.notices.some((n) => n.code.startsWith("schema-") || n.code.startsWith("json-"))) continue;
        want = true;
      } else continue;
      const doc = given(v.input);
      if (doc === undefined) continue;
      for (const [name, valid] of Object.entries(peers)) {
        const said = valid(doc);
        const sum = (count[name] ??= { valid: 0, refused: 0 });
        sum[said ? "valid" : "refused"]++;
        if (said !== want) {
          wrong++;
          console.log(`${v.id} (${file}): ${name} says ${said ? "valid" : "not valid"}; ${v.why}`);
        }
      }
    }
  }
}
for (const [name, n] of Object.entries(count)) {
  console.log(`${name}: ${n.valid} valid and ${n.refused} refused, as the suite has it`);
  // A comparison over nothing, or over one kind of verdict only, would prove nothing.
  if (n.valid < 300 || n.refused < 20) {
    wrong++;
    console.log(`${name}: too few to judge`);
  }
}
if (Object.keys(count).length !== 2) wrong++;
process.exit(wrong === 0 ? 0 : 1);

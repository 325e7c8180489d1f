// The bundled schemas: clean under ajv in strict mode, nothing printed; and each report of testdata and examples judged alike by
// four validators that share no code, under the bundle, the bundle for editors, and our own modular schemas.
// Usage: node bundle-check.mjs VERDICTS (lines of file<TAB>true|false; PEERS names the folder of the packages)
import { readFileSync, readdirSync } from "node:fs";
import { createRequire } from "node:module";
import { pathToFileURL } from "node:url";

const require = createRequire(process.env.PEERS + "/");
const at = (name) => import(pathToFileURL(require.resolve(name)).href);
const read = (file) => JSON.parse(readFileSync(file, "utf8"));
const bundle = (name) => read(`schema/bundle/${name}.schema.json`);
let wrong = 0;
const fail = (line) => { wrong++; console.log(line); };

const Ajv = require("ajv/dist/2020").default;
const addFormats = require("ajv-formats").default;
const logger = { log: (m) => fail(`ajv says: ${m}`), warn: (m) => fail(`ajv warns: ${m}`), error: (m) => fail(`ajv: ${m}`) };
const strict = (name) => {
  const ajv = new Ajv({ strict: true, logger, unicodeRegExp: true });
  addFormats(ajv);
  return ajv.compile(bundle(name));
};
const files = readdirSync("schema/bundle").map((f) => f.replace(".schema.json", ""));
const ajv = Object.fromEntries(files.map((name) => [name, strict(name)]));
const together = new Ajv({ strict: true, logger, unicodeRegExp: true });
addFormats(together);
for (const name of files) together.addSchema(bundle(name)); // throws where two have one $id
console.log(`ajv, strict: ${files.length} bundles, nothing unknown, all in one program`);

const cfworker = await at("@cfworker/json-schema");
const hyper = await at("@hyperjump/json-schema/draft-2020-12");
await at("@hyperjump/json-schema/formats");
hyper.setShouldValidateFormat(true);
const safe = require("@exodus/schemasafe");
const peers = {};
for (const name of ["report", "simple"]) {
  const cf = new cfworker.Validator(bundle(name), "2020-12", true);
  hyper.registerSchema(bundle(name), `https://example.org/bundle/${name}`, "https://json-schema.org/draft/2020-12/schema");
  const hyperjump = await hyper.validate(`https://example.org/bundle/${name}`);
  const schemasafe = safe.validator(bundle(name), { mode: "spec", formatAssertion: true, $schemaDefault: "https://json-schema.org/draft/2020-12/schema", formats: safe.formats });
  peers[name] = { ajv: ajv[name], "@cfworker/json-schema": (d) => cf.validate(d).valid, "@hyperjump/json-schema": (d) => hyperjump(d, "FLAG").valid, "@exodus/schemasafe": schemasafe };
}
peers.report["ajv, bundle for editors"] = ajv["report.editor"];

const count = {};
const compare = (name, doc, want, where) => {
  for (const [peer, valid] of Object.entries(peers[name])) {
    const sum = (count[`${peer}, ${name}`] ??= { valid: 0, refused: 0 });
    const said = valid(doc);
    sum[said ? "valid" : "refused"]++;
    if (said !== want) fail(`${where}: ${peer} says ${said}, and ${want} is right`);
  }
  // Types take all that is valid.
  if (name === "report" && want && !ajv["report.types"](doc)) fail(`${where}: the bundle for types refuses what is valid`);
};
for (const line of readFileSync(process.argv[2], "utf8").trim().split("\n")) {
  const [file, ours] = line.split("\t");
  let doc;
  try { doc = read(file); } catch { continue; } // a fault of JSON itself
  compare("report", doc, ours === "true", file);
}
for (const v of read("testdata/suite/required/simple.json")) {
  if (v.options?.schema === "simple") compare("simple", v.input.json, v.expect.value.valid, v.id);
}
for (const [peer, n] of Object.entries(count)) {
  console.log(`${peer}: ${n.valid} valid and ${n.refused} refused, as ours`);
  if (n.valid === 0 || n.refused < 5) fail(`${peer}: too little was compared`);
}

// An editor offers the codes of the list of a member, and takes others.
const e = bundle("report.editor").$defs;
const offered = (n) => e[n].anyOf.filter((c) => c.const).length;
if (!(offered("MaterialCode") > 30) || !e.MaterialCode.anyOf.some((c) => c.const === "iron" && c.title === "iron · Eisen · ijzer · fer · jern · järn")) fail("the codes of materials are not offered with their labels");
if (!e.MaterialCode.anyOf.some((c) => c.$ref === "#/$defs/Code") || e.KindCode.anyOf.some((c) => c.$ref)) fail("an open list is closed, or a closed one open");
if (/copper-alloy/.test(JSON.stringify(e.Code))) fail("copper-alloy is offered for every code");
process.exit(wrong === 0 ? 0 : 1);

// node sbom-check.mjs LIST...: each list of what is linked in, by the schema that CycloneDX publishes for 1.5 (as the npm
// package @cyclonedx/cyclonedx-library holds it) and by what a schema cannot say: each reference leads to a component.
// Then broken copies of the first list, which have to be refused, each for its own fault. PEERS is the folder of node_modules.
import { createRequire } from "node:module";
import { readFileSync } from "node:fs";
import { dirname, join } from "node:path";

const from = createRequire(join(process.env.PEERS, "package.json"));
const Ajv = from("ajv").default;
const ajv = new Ajv({ strict: false, allErrors: true, validateFormats: true });
from("ajv-formats").default(ajv);
ajv.addFormat("iri-reference", /^[^\s<>"{}|\\^`]*$/); // RFC 3987 without its finer points; it judges package addresses no further
ajv.addFormat("idn-email", /^[^\s@]+@[^\s@]+$/);
const folder = join(process.env.PEERS, "node_modules/@cyclonedx/cyclonedx-library/res/schema");
const load = (name) => JSON.parse(readFileSync(join(folder, name)));
for (const name of ["spdx.SNAPSHOT.schema.json", "jsf-0.82.SNAPSHOT.schema.json"]) ajv.addSchema(load(name), `http://cyclonedx.org/schema/${name}`); // by the address that the list schema asks for
const valid = ajv.compile(load("bom-1.5.SNAPSHOT.schema.json"));

function faults(bom) {
  const out = valid(bom) ? [] : valid.errors.map((e) => `${e.instancePath || "/"} ${e.message}`);
  const components = [bom.metadata?.component, ...(bom.components ?? [])];
  const refs = components.map((c) => c?.["bom-ref"]);
  if (new Set(refs).size !== refs.length) out.push("a reference stands for two components");
  for (const d of bom.dependencies ?? []) for (const ref of [d.ref, ...(d.dependsOn ?? [])]) if (!refs.includes(ref)) out.push(`${ref} is no component`);
  for (const c of components) if (!/^pkg:golang\/[^@\s]+@[^@\s]+$/.test(c?.purl)) out.push(`${c?.purl} is no package URL of a Go module`);
  return out;
}

let failures = 0;
const lists = process.argv.slice(2).map((file) => [file, readFileSync(file, "utf8")]);
if (!lists.length) throw new Error("sbom-check LIST...");
for (const [file, text] of lists) {
  const bom = JSON.parse(text);
  const found = faults(bom);
  if (bom.components.length < 10) found.push(`only ${bom.components.length} components`);
  for (const fault of found) console.log(`${file}: ${fault}`);
  failures += found.length;
}
const broken = {
  "an unknown sort of component": (b) => { b.components[0].type = "gadget"; },
  "no name": (b) => { delete b.components[1].name; },
  "a version that is a number": (b) => { b.components[0].version = 1; },
  "another format": (b) => { b.bomFormat = "List"; },
  "an unknown member": (b) => { b.components[0].colour = "green"; },
  "the same component twice": (b) => { b.components.push(b.components[0]); },
  "a reference that leads nowhere": (b) => { b.dependencies[0].dependsOn.push("pkg:golang/nowhere@v1"); },
  "no package URL": (b) => { delete b.components[0].purl; },
};
for (const [what, harm] of Object.entries(broken)) {
  const bom = JSON.parse(lists[0][1]);
  harm(bom);
  if (!faults(bom).length) { failures++; console.log(`a list with ${what} is taken`); }
}
console.log(`${lists.length} lists by the CycloneDX 1.5 schema, ${Object.keys(broken).length} broken ones: ${failures} faults`);
process.exit(failures ? 1 : 0);

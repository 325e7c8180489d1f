// Has a general JSON-LD library (jsonld of npm) expand reports with the context of the format and turn
// them into RDF, in its safe mode, which fails where anything would be dropped. No document but our
// context is loaded. Every value of the report must come out again, every predicate must be ours or a
// term of testdata/reference/terms.csv, and that table must agree with the vocabularies as npm has them.
// What the program writes as linked data must say the same with no option and no other file, and keep the shapes of
// schema/shapes.ttl by a general validator of SHACL (rdf-validate-shacl of npm), which must notice what is spoilt.
// Usage: node linked-check.mjs FINDSLIP CONTEXT REPORT...
import { readFileSync } from "node:fs";
import { execFileSync } from "node:child_process";
import { createRequire } from "node:module";
import path from "node:path";

const require = createRequire(process.env.PEERS + "/");
const jsonld = require("jsonld");
const read = (file) => JSON.parse(readFileSync(file, "utf8"));
let wrong = 0;
const fail = (line) => { wrong++; console.log(line); };
// The name of our context is answered with the file; everything else is refused.
const documentLoader = async (url) => {
  if (url === "https://w3id.org/findslip/1/context") return { contextUrl: null, documentUrl: url, document: context };
  throw new Error(`${url} is asked for; nothing may be fetched`);
};

// The table of terms against the vocabularies.
const lines = readFileSync("testdata/reference/terms.csv", "utf8").trim().split("\n").slice(1);
const table = new Map(lines.map((l) => { const [vocabulary, , kind, iri] = l.split(","); return [iri, { vocabulary, kind }]; }));
const found = {};
for (const vocabulary of ["crm", "dcterms", "skos"]) {
  const nq = readFileSync(path.join(process.env.PEERS, "node_modules/@vocabulary", vocabulary, `${vocabulary}.nq`), "utf8");
  const typed = new Set([...nq.matchAll(/^<([^>]+)> <[^>]*22-rdf-syntax-ns#type> </gm)].map((m) => m[1]));
  for (const [iri, row] of table) {
    if (row.vocabulary !== vocabulary) continue;
    found[vocabulary] = (found[vocabulary] ?? 0) + 1;
    if (!typed.has(iri)) fail(`${iri} is in the table of terms and not in ${vocabulary}`);
  }
  if (!(found[vocabulary] > 20)) fail(`too few terms of ${vocabulary} in the table`);
}
console.log(`terms looked up: ${JSON.stringify(found)}`);

const context = read(process.argv[3]);
const own = context["@context"]["@vocab"];
const asJson = new Set(["absent", "generalised", "extensions", "columns", "area", "excluded", "says"]);
const links = /^urn:uuid:/;

// leaves counts the values of a report, those that go out whole as JSON as one.
function leaves(v, name) {
  if (asJson.has(name)) return 1;
  if (Array.isArray(v)) return v.reduce((n, x) => n + leaves(x), 0);
  if (v && typeof v === "object") return Object.entries(v).reduce((n, [k, x]) => n + (k === "@context" ? 0 : leaves(x, k)), 0);
  return 1;
}
// expandedLeaves counts the same in the expanded form.
function expandedLeaves(v) {
  if (Array.isArray(v)) return v.reduce((n, x) => n + expandedLeaves(x), 0);
  if (!v || typeof v !== "object") return 1;
  if ("@value" in v) return 1;
  return Object.entries(v).reduce((n, [k, x]) => n + (k === "@id" ? 1 : expandedLeaves(x)), 0);
}

for (const file of process.argv.slice(4)) {
  const report = read(file);
  const options = { expandContext: context, documentLoader, safe: true };
  let expanded, quads;
  try {
    expanded = await jsonld.expand(report, options);
    quads = await jsonld.toRDF(report, options);
  } catch (e) {
    fail(`${file}: ${e.message} ${JSON.stringify(e.details?.event ?? {}).slice(0, 300)}`);
    continue;
  }
  // A report that names the context needs no option.
  if (report["@context"]) {
    const alone = await jsonld.expand(report, { documentLoader, safe: true });
    if (JSON.stringify(alone) !== JSON.stringify(expanded)) fail(`${file}: without the option it expands to something else`);
  }
  const before = leaves(report), after = expandedLeaves(expanded);
  if (before !== after) fail(`${file}: ${before} values go in and ${after} come out`);
  const predicates = new Set(quads.map((q) => q.predicate.value));
  let foreign = 0;
  for (const p of predicates) {
    if (p.startsWith(own)) continue;
    foreign++;
    if (table.get(p)?.kind !== "property") fail(`${file}: ${p} is no property of the table of terms`);
  }
  // What was meant, said of the finds themselves.
  const ask = (s, p) => quads.filter((q) => q.subject.value === s && q.predicate.value === p).map((q) => q.object);
  const terms = context["@context"];
  for (const f of report.finds ?? []) {
    if (f.number && ask(f.id, terms.dwc + "recordNumber")[0]?.value !== f.number) fail(`${file}: a number is lost`);
    if (f.partOf && ask(f.id, terms.crm + "P46i_forms_part_of")[0]?.termType !== "NamedNode") fail(`${file}: partOf is no link`);
    if (f.position?.latitude !== undefined) {
      const [position] = ask(f.id, own + "position");
      const [latitude] = ask(position?.value, terms.dwc + "decimalLatitude");
      if (Number(latitude?.value) !== f.position.latitude) fail(`${file}: a latitude is another`);
    }
    if (ask(f.id, terms.crm + "P45_consists_of").length !== (f.materials ?? []).length) fail(`${file}: materials are lost`);
    if (report.id && !ask(report.id, terms.dcterms + "hasPart").some((o) => o.value === f.id)) fail(`${file}: a find is no part of its report`);
  }
  if (report.reuse && ask(report.id, terms.dcterms + "license")[0]?.value !== `http://spdx.org/licenses/${report.reuse}`) fail(`${file}: the licence is no link`);
  if (report.id && !links.test(report.id)) fail(`${file}: no URN`);
  console.log(`${file}: ${before} values, ${quads.length} triples, ${predicates.size} predicates, ${foreign} of them of other vocabularies`);
}
if (process.argv.length < 6) fail("too few reports to judge");
// Two reports that know nothing of each other are joined on what both are made of.
const made = {};
for (const file of ["testdata/valid/typical.findslip.json", "examples/thornmere/season.findslip.json"]) {
  const quads = await jsonld.toRDF(read(file), { expandContext: context, documentLoader, safe: true });
  const copper = "https://w3id.org/findslip/1/vocabulary/material/copper-alloy";
  const terms = quads.filter((q) => q.predicate.value === `${own}code` && q.object.value === copper && q.object.termType === "NamedNode").map((q) => q.subject.value);
  made[file] = quads.filter((q) => terms.includes(q.object.value)).map((q) => q.subject.value).filter((s) => links.test(s));
  if (made[file].length === 0) fail(`${file}: no find is of copper alloy`);
}
// A code is a concept of its list, also where a member has the same name.
for (const file of process.argv.slice(4)) {
  const quads = await jsonld.toRDF(read(file), { expandContext: context, documentLoader, safe: true });
  const apart = new Set(quads.filter((q) => q.predicate.value === `${own}accepted`).map((q) => q.object.value));
  for (const q of quads.filter((q) => q.predicate.value === `${own}code` && !apart.has(q.subject.value))) {
    if (!q.object.value.startsWith(own.replace("terms#", "vocabulary/"))) fail(`${file}: the code ${q.object.value} is no concept`);
  }
}
console.log(`joined on copper alloy: ${Object.values(made).map((m) => m.length).join(" and ")} finds of two reports`);

// What the program writes as linked data.
const { Parser, Store } = require("n3");
const Validator = await import(require.resolve("rdf-validate-shacl")).then((m) => m.default);
const store = (text) => new Store(new Parser().parse(text));
const shapes = new Validator(store(readFileSync("schema/shapes.ttl", "utf8")));
const graph = async (document) => store(await jsonld.toRDF(document, { documentLoader, safe: true, format: "application/n-quads" }));
const results = async (document) => (await shapes.validate(await graph(document))).results.map((r) => `${r.path?.value ?? ""} ${r.focusNode?.value ?? ""}`);
const ours = (file, to) => JSON.parse(execFileSync(process.argv[2], ["convert", file, "--to", to, "-o", "-", "--fail-on", "never", "--quiet"], { maxBuffer: 1 << 28 }));
const type = "http://www.w3.org/1999/02/22-rdf-syntax-ns#type";
for (const file of process.argv.slice(4)) {
  const report = ours(file, "findslip"), written = ours(file, "jsonld"), all = await graph(written);
  const plain = await jsonld.toRDF(report, { expandContext: context, documentLoader, safe: true });
  for (const [of, iri] of [["people", terms("crm") + "E39_Actor"], ["permissions", own + "Permission"]]) {
    const nodes = all.getSubjects(type, iri, null).filter((n) => n.termType === "NamedNode" && n.value.startsWith(`${report.id}#`));
    if (nodes.length !== (report[of] ?? []).length) fail(`${file}: ${nodes.length} nodes of ${of}`);
  }
  if (all.getSubjects(type, own + "Find", null).length !== report.finds.length) fail(`${file}: finds without a type`);
  const led = report.finds.filter((f) => f.finder).length, links = all.getQuads(null, terms("dwc") + "recordedByID", null, null);
  if (links.filter((q) => q.object.termType === "NamedNode").length !== led) fail(`${file}: finders are no links`);
  // Types and names of nodes are added to what the report itself says, and but for paths of a machine nothing is taken away.
  const named = all.getSubjects(type, null, null).filter((n) => n.value.startsWith(`${report.id}#`)).length;
  const extra = all.size - all.getQuads(null, type, null, null).length, apart = report.$schema ? 1 : 0;
  if (extra !== new Set(plain.map((q) => JSON.stringify(q))).size - apart) fail(`${file}: ${extra} statements of ${plain.length}`);
  const faults = await results(written);
  if (faults.length > 0) fail(`${file}: against the shapes: ${faults.join("; ")}`);
  console.log(`${file}: as JSON-LD ${all.size} statements, ${named} people, permissions and outings as nodes; keeps the shapes`);
}
function terms(prefix) { return context["@context"][prefix]; }
const whole = "testdata/valid/full.findslip.json";
for (const [what, spoil] of [
  ["a latitude of 95", (d) => { d.finds[0].position.latitude = 95; }],
  ["a depth in inches", (d) => { d.finds[0].depth.unit = { "@id": "http://qudt.org/vocab/unit/IN" }; }],
  ["a smallest depth above the largest", (d) => { Object.assign(d.finds[0].depth, { min: 99, max: 1 }); }],
  ["a finder as a text", (d) => { d.finds[0].finder = "person-1"; }],
  ["a find without a type", (d) => { delete d.finds[1]["@type"]; }],
  ["a permission that ends before it begins", (d) => { Object.assign(d.permissions[0], { validFrom: "2026-12-31", validTo: "2026-01-01" }); }],
  ["a code that is no concept", (d) => { d.finds[0].materials[0].code = { "@id": "http://example.org/copper" }; }],
]) {
  const spoilt = ours(whole, "jsonld");
  spoil(spoilt);
  if ((await results(spoilt)).length === 0) fail(`the shapes pass ${what}`);
}
process.exit(wrong === 0 ? 0 : 1);

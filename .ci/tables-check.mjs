// Has a general library of Data Packages (datapackage of npm) read what we write as tables: the descriptor must be valid, every
// row must fit the types that it names, every id must lead to a row, and as many rows come as the report has. The other
// description, CSV on the Web, must name the same columns in the same order, and a general processor of CSV on the Web
// (rdf-parser-csvw of npm) must bring out every number and name of a find with it.
// Usage: PEERS=FOLDER node tables-check.mjs FINDSLIP FOLDER_FOR_SCRATCH REPORT...
import { createReadStream, mkdirSync, readFileSync, rmSync } from "node:fs";
import { execFileSync } from "node:child_process";
import { createRequire } from "node:module";
import { pathToFileURL } from "node:url";

const require = createRequire(process.env.PEERS + "/");
const { Package } = require("datapackage");
const jsonld = require("jsonld"), n3 = require("n3");
const { default: Csvw } = await import(pathToFileURL(require.resolve("rdf-parser-csvw")).href);
const csvw = "http://www.w3.org/ns/csvw#";
// As much of the context of CSV on the Web as a table here uses; nothing is fetched.
const context = { "@vocab": csvw, tableSchema: { "@id": csvw + "tableSchema" }, columns: { "@id": csvw + "column", "@container": "@list" }, titles: { "@id": csvw + "title" } };
async function values(folder, table) {
  const { foreignKeys, primaryKey, ...tableSchema } = table.tableSchema;
  const metadata = new n3.Store(await jsonld.toRDF({ "@context": context, ...table, tableSchema }));
  const found = new Set();
  for await (const q of new Csvw({ metadata, baseIRI: "https://example.org/" }).import(createReadStream(`${folder}/${table.url}`))) found.add(q.object.value);
  return found;
}
const [findslip, scratch, ...reports] = process.argv.slice(2);
let wrong = 0, tables = 0;
const fail = (line) => { wrong++; console.log(line); };
for (const file of reports) {
  const report = JSON.parse(readFileSync(file, "utf8"));
  const folder = `${scratch}/tables`;
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(folder);
  execFileSync(findslip, ["convert", file, "-o", `${folder}/all.tables.zip`, "--fail-on", "never", "--quiet"]);
  execFileSync("unzip", ["-q", "all.tables.zip"], { cwd: folder });
  const all = await Package.load(`${folder}/datapackage.json`);
  if (!all.valid) fail(`${file}: ${all.errors.map((e) => e.message).join("; ")}`);
  const web = JSON.parse(readFileSync(`${folder}/csv-metadata.json`, "utf8")).tables;
  for (const table of web) {
    const found = await values(folder, table);
    if (found.size === 0) fail(`${file}, ${table.url}: a processor of CSV on the Web finds nothing`);
    for (const f of table.url === "finds.csv" ? report.finds : []) for (const v of [f.number, f.name]) if (v && !found.has(v)) fail(`${file}: a processor of CSV on the Web does not find ${v}`);
  }
  for (const [i, table] of all.resources.entries()) {
    tables++;
    let rows = [];
    try {
      rows = await table.read({ relations: true });
    } catch (e) {
      fail(`${file}, ${table.name}: ${e.message} ${(e.errors ?? []).map((x) => x.message).join("; ")}`);
    }
    if (table.name !== "report" && rows.length !== report[table.name].length) fail(`${file}, ${table.name}: ${rows.length} rows`);
    const named = web[i].tableSchema.columns.map((c) => c.titles).join("|");
    // names of URI templates, which CSV on the Web takes (RFC 6570, section 2.3)
    for (const c of web[i].tableSchema.columns) if (!/^(\w|%[0-9A-F]{2})(\.?(\w|%[0-9A-F]{2}))*$/.test(c.name)) fail(`${file}, ${table.name}: the name ${c.name}`);
    if (named !== table.schema.fieldNames.join("|")) fail(`${file}, ${table.name}: the two descriptions differ`);
  }
}
if (tables < 8) fail(`only ${tables} tables were judged`);
console.log(`${tables} tables are as their Table Schemas say`);
process.exit(wrong === 0 ? 0 : 1);

// Has a general library of Data Packages (datapackage of npm) read what we write as tables: the descriptor must be valid, every
// row must fit the types that it names, every id must lead to a row, and as many rows come as the report has. The other
// description, CSV on the Web, must name the same columns in the same order.
// Usage: PEERS=FOLDER node tables-check.mjs FINDSLIP FOLDER_FOR_SCRATCH REPORT...
import { mkdirSync, readFileSync, rmSync } from "node:fs";
import { execFileSync } from "node:child_process";
import { createRequire } from "node:module";

const { Package } = createRequire(process.env.PEERS + "/")("datapackage");
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

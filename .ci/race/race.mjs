// Runs findslip and its peers in turn over the same data and prints a table: medians of three, wall clock, the whole
// process. Usage, from the root of the project, with npm, ogr2ogr (Debian: gdal-bin) and time (Debian: time):
//   node .ci/race/race.mjs [FINDS [ROWS [MILLION]]]
// FINDS is the length of the logs (200000), ROWS that of the sheets (200000); with MILLION a log of a million finds is
// checked too, for its memory. What is missing is said and left out. Data and programs go into a folder of their own in
// the folder for temporary files, which is removed.
import { spawnSync } from "node:child_process";
import { copyFileSync, existsSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { availableParallelism, cpus, tmpdir } from "node:os";
import { join, resolve } from "node:path";

const [finds, rows] = [Number(process.argv[2] ?? 200000), Number(process.argv[3] ?? 200000)];
const million = process.argv.includes("MILLION");
const root = resolve(".");
const work = mkdtempSync(join(tmpdir(), "findslip-race-"));
const must = (command, args, options = {}) => {
  const r = spawnSync(command, args, { encoding: "utf8", cwd: work, maxBuffer: 1 << 28, ...options });
  if (r.error || r.status !== 0) throw new Error(`${command} ${args.join(" ")}: ${r.error ?? r.stderr}`);
  return r.stdout;
};
// once runs a program and returns seconds and MiB.
const once = (command, args) => {
  const began = process.hrtime.bigint();
  const r = spawnSync("/usr/bin/time", ["-f", "%M", "-o", "memory", command, ...args], { cwd: work, stdio: "ignore" });
  const seconds = Number(process.hrtime.bigint() - began) / 1e9;
  if (r.status > 1) throw new Error(`${command} ${args.join(" ")}: exit status ${r.status}`);
  return { seconds, memory: Number(readFileSync(join(work, "memory"), "utf8").trim().split("\n").pop()) / 1024 };
};
const median = (list) => list.toSorted((a, b) => a - b)[list.length >> 1];
const table = [];
// race lets the runners of one task go in turn, three times.
const race = (task, n, runners) => {
  const results = runners.map(() => []);
  for (let lap = 0; lap < 3; lap++) runners.forEach(([, command, ...args], i) => results[i].push(once(command, args)));
  runners.forEach(([name], i) => {
    const seconds = median(results[i].map((r) => r.seconds));
    const row = { task, name, seconds, rate: Math.round(n / seconds), memory: Math.round(Math.max(...results[i].map((r) => r.memory))) };
    table.push(row);
    console.log(`| ${task} | ${name} | ${row.seconds.toFixed(2)} s | ${row.rate.toLocaleString("en")} | ${row.memory} MiB |`);
  });
};
const have = (command, ...args) => !spawnSync(command, args, { stdio: "ignore" }).error;

try {
  must("go", ["build", "-o", join(work, "findslip"), "./cmd/findslip"], { cwd: root });
  must("node", [join(root, ".ci/race/data.mjs"), String(finds), work], { cwd: root });
  const us = join(work, "findslip");
  const schema = join(root, "schema/find.schema.json");
  console.log(`${cpus()[0].model}, ${availableParallelism()} processors; logs of ${finds} finds, ${Math.round(statSync(join(work, "finds.jsonl")).size / finds)} bytes each\n`);
  console.log("| task | program | time | finds or rows a second | memory at most |\n|---|---|---|---|---|");
  const check = (file) => [us, "check", file, "--report", "json", "--force", "-o", "notices.json"];
  const jsonl = [["findslip check", ...check("log.jsonl")]];
  const list = [["findslip check", ...check("log.findslip.json")]];
  if (have("npm", "--version")) {
    copyFileSync(join(root, ".ci/race/package.json"), join(work, "package.json"));
    must("npm", ["install", "--no-audit", "--no-fund", "--no-package-lock"]);
    must("node", [join(root, ".ci/race/ajv.mjs"), schema, "validator.cjs"]);
    writeFileSync(join(work, "list.schema.json"), JSON.stringify({ $schema: "https://json-schema.org/draft/2020-12/schema", type: "array", items: { $ref: "https://w3id.org/findslip/1/find" } }));
    const native = join(work, "node_modules/.bin/jsonschema");
    const format = ["--format-assertion", "--fast", "--resolve", schema];
    jsonl.push(["ajv, compiled", "node", join(root, ".ci/race/ajv.mjs"), "--check", "validator.cjs", "finds.jsonl"]);
    list.push(["ajv, compiled", "node", join(root, ".ci/race/ajv.mjs"), "--check", "validator.cjs", "finds.json"]);
    if (existsSync(native)) {
      jsonl.push(["jsonschema (C++, fast mode)", native, "validate", schema, "finds.jsonl", "--format-assertion", "--fast"]);
      list.push(["jsonschema (C++, fast mode)", native, "validate", "list.schema.json", "finds.json", ...format]);
    }
  } else console.log("NOT RUN: the validators of npm, for there is no npm");
  race("JSON Lines", finds, jsonl);
  race("one JSON list", finds, list);
  if (million) {
    must("node", [join(root, ".ci/race/data.mjs"), "1000000", work], { cwd: root });
    race("JSON Lines, a million finds", 1000000, [["findslip check", ...check("log.jsonl")]]);
  }
  must("node", [join(root, ".ci/race/data.mjs"), String(rows), work], { cwd: root });
  must(us, ["convert", "log.csv", "--plain", "-o", "log.xlsx"]);
  for (const [task, file] of [["CSV to GeoJSON", "log.csv"], ["XLSX to GeoJSON", "log.xlsx"]]) {
    const runners = [["findslip convert", us, "convert", file, "--force", "-o", "out.geojson"]];
    if (have("ogr2ogr", "--version")) runners.push(["ogr2ogr", "sh", "-c", `rm -f gdal.geojson; ogr2ogr -f GeoJSON gdal.geojson ${file}`]);
    else console.log("NOT RUN: ogr2ogr, which is not here");
    race(task, rows, runners);
  }
  writeFileSync(join(work, "one.jsonl"), readFileSync(join(work, "log.jsonl"), "utf8").slice(0, 1 << 16).split("\n").slice(0, 2).join("\n") + '\n{"type":"end","finds":1}\n');
  for (const [task, ...args] of [["read length 8in", "read", "length", "8in"], ["check of one find", "check", "one.jsonl"]]) {
    const times = Array.from({ length: 20 }, () => once(us, args).seconds * 1000);
    console.log(`| start-up: ${task} | findslip | ${median(times).toFixed(0)} ms, median of 20 | | |`);
  }
} finally {
  rmSync(work, { recursive: true, force: true });
}

// Makes the data of the race: a log of finds, each different, of the demo report. Usage:
// node data.mjs FINDS FOLDER writes log.jsonl and log.findslip.json (the same report), finds.jsonl and finds.json
// (its finds alone, for programs that know only the schema of a find) and log.csv (a table of 25 columns, as people
// keep one).
import { createHash } from "node:crypto";
import { closeSync, openSync, readFileSync, writeSync } from "node:fs";
import { join } from "node:path";

const [finds, folder] = [Number(process.argv[2]), process.argv[3]];
const base = JSON.parse(readFileSync(new URL("../../testdata/valid/typical.findslip.json", import.meta.url), "utf8"));
const { finds: _, outings, ...report } = base;
const days = Array.from({ length: 20 }, (_, i) => `2026-04-${String(i + 2).padStart(2, "0")}`);
report.outings = days.map((date, i) => ({ ...outings[0], id: `outing-${i + 1}`, date }));

const things = [
  ["small round bell", "bell", "copper-alloy", "green metal", "1690/1790", "about 1690 to 1790"],
  ["shoe buckle, half", "buckle", "copper-alloy", "brass?", "1720/1790", "1720 to 1790"],
  ["plain flat button", "button", "copper-alloy", "copper alloy", "1750/1850", "1750 to 1850"],
  ["thimble, crushed", "textile-tool", "copper-alloy", "copper alloy", "1801/1900", "19th century"],
  ["horseshoe", "horseshoe", "iron", "iron", "1801/1900", "19th century"],
  ["key with a broken bow", "lock-key", "iron", "iron", "1701/1800", "18th century"],
];
const depths = [[4, "10.16"], [5, "12.7"], [6, "15.24"], [7, "17.78"], [8, "20.32"], [9, "22.86"]];
const fraction = (i, x) => (i * x) % 1;

const out = Object.fromEntries(["log.jsonl", "log.findslip.json", "finds.jsonl", "finds.json", "log.csv"].map((name) => [name, { file: openSync(join(folder, name), "w"), parts: [], size: 0 }]));
const flush = (o) => {
  const text = Buffer.from(o.parts.join(""));
  for (let at = 0; at < text.length; ) at += writeSync(o.file, text, at);
  o.parts = [];
  o.size = 0;
};
const write = (name, text) => {
  const o = out[name];
  o.parts.push(text);
  if ((o.size += text.length) > 1 << 22) flush(o);
};

write("log.jsonl", JSON.stringify({ type: "report", report }) + "\n");
write("log.findslip.json", JSON.stringify(report).slice(0, -1) + ',"finds":[');
write("finds.json", "[");
write("log.csv", "Number,Name,Date,Time,Finder,Permission,Parish,Latitude,Longitude,Accuracy (m),Position method,Depth,Depth basis,Object class,Material,How many,Weight (g),Length (mm),Width (mm),Dating,How sure,Completeness,Cleaning,Storage place,Notes\n");
for (let i = 1; i <= finds; i++) {
  const [name, code, material, words, date, age] = things[i % things.length];
  const [inches, cm] = depths[(i >> 2) % depths.length];
  const day = (i * 7) % days.length;
  const [y, m, d] = days[day].split("-").map(Number);
  const [minute, longitude, latitude] = [String(10 + (i % 49)), Number((-1.2257 + 0.007 * fraction(i, 0.6180339887)).toFixed(7)), Number((52.5042 + 0.0045 * fraction(i, 0.4142135624)).toFixed(7))];
  const hash = createHash("sha1").update(`find ${i}`).digest("hex");
  const id = `urn:uuid:${hash.slice(0, 8)}-${hash.slice(8, 12)}-5${hash.slice(13, 16)}-8${hash.slice(17, 20)}-${hash.slice(20, 32)}`;
  const grams = (4 + Math.floor(fraction(i, 0.7548776662) * 100) / 10).toFixed(1);
  const find = {
    id, number: String(i), kind: "single", finder: "person-1", permission: "permission-1", outing: `outing-${day + 1}`,
    found: { date: days[day], time: `10:${minute}`, verbatim: `${d} April ${y}, 10:${minute}` },
    position: { longitude, latitude, uncertainty: 5, uncertaintyBasis: { code: "device" }, method: { code: "handheld", verbatim: "GPS" } },
    depth: { min: Number(cm), max: Number(cm), unit: "cm", said: "in", resolution: 2.54, verbatim: `${inches} in`, basis: { code: "tape-measured" } },
    name, objectClass: { code, verbatim: code }, count: { min: 1, max: 1 }, materials: [{ code: material, verbatim: words, certainty: "probable" }],
    dating: { date, earliest: Number(date.slice(0, 4)), latest: Number(date.slice(5)), verbatim: age },
    identification: { certainty: "probable" },
    recorded: { by: "person-1", at: `${days[day]}T20:15:00+01:00` },
  };
  const text = JSON.stringify(find);
  write("log.jsonl", `{"type":"find","find":${text}}\n`);
  write("log.findslip.json", (i > 1 ? "," : "") + text);
  write("finds.jsonl", text + "\n");
  write("finds.json", (i > 1 ? "," : "") + text);
  write("log.csv", `${i},"${name}",${d} April ${y},10:${minute},Finder A,Long Furlong,Thornmere,${latitude},${longitude},5,GPS,${inches} in,tape,${code},${words},1,${grams},${20 + (i % 30)},${10 + (i % 9)},"${age}",probable,complete,rinsed,box ${i % 40},"row ${i} of the book"\n`);
}
write("log.jsonl", JSON.stringify({ type: "end", finds }) + "\n");
write("log.findslip.json", "]}\n");
write("finds.json", "]\n");
for (const o of Object.values(out)) {
  flush(o);
  closeSync(o.file);
}

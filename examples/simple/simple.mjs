// Writes Findslip Simple (schema/spec/simple.md). No packages; report and find run in a browser too.
//
//   node simple.mjs              prints a report with two finds
//   node simple.mjs conformance  answers the conformance suite

/** One find, of the answers of a form: texts, numbers or nothing. The order is that of the format. */
export function find(a, finders) {
  const has = (name) => a[name] !== undefined && a[name] !== null && a[name] !== "";
  if (!has("number") && !has("name")) throw new Error("a find needs a number or a name");
  const where = ["longitude", "latitude", "uncertainty"];
  if (where.some(has) && !where.every(has)) throw new Error("a position is a longitude, a latitude and the radius that holds the spot");
  if (where.every(has) && !(Math.abs(a.longitude) <= 180 && Math.abs(a.latitude) <= 90 && a.uncertainty > 0)) {
    throw new Error("longitude and latitude are degrees, and the radius is above zero");
  }
  if (has("picture") && /[/\\]/.test(a.picture)) throw new Error("a picture lies beside the report: its name has no folder");
  if (has("id") && !/^urn:uuid:[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/.test(a.id)) throw new Error("an id is urn:uuid: and a UUID in small letters");
  if (has("day") && !realDay(a.day)) throw new Error("the day is no day of the calendar");
  const out = { id: a.id ?? `urn:uuid:${crypto.randomUUID()}` };
  if (has("number")) out.number = a.number;
  if (has("finder")) out.finder = `person-${finders.indexOf(a.finder) + 1}`;
  if (has("day")) out.found = { date: a.day };
  if (has("place")) out.place = { name: a.place };
  if (where.every(has)) out.position = Object.fromEntries(where.map((name) => [name, a[name]]));
  if (has("depth")) out.depth = { verbatim: a.depth };
  if (has("name")) out.name = a.name;
  if (has("material")) out.materials = [{ verbatim: a.material }];
  if (has("weight")) out.weight = { verbatim: a.weight };
  if (has("picture")) out.media = [{ file: a.picture }];
  if (has("notes")) out.notes = a.notes;
  const missing = ["depth", "weight"].filter((name) => a.notMeasured?.includes(name) && !has(name));
  if (missing.length > 0) out.absent = Object.fromEntries(missing.map((name) => [`/${name}`, "not-measured"]));
  return out;
}

/** The report of all finds; finders stand in the order of their first find. */
export function report(answers) {
  const finders = [...new Set(answers.map((a) => a.finder).filter(Boolean))];
  const people = finders.map((handle, i) => ({ id: `person-${i + 1}`, handle }));
  const finds = answers.map((a) => find(a, finders));
  if (new Set(finds.map((f) => f.id)).size < finds.length) throw new Error("two finds have one id");
  return { findslip: "1.0", ...(people.length > 0 && { people }), finds };
}

function realDay(text) {
  const day = new Date(`${text}T00:00:00Z`);
  return /^\d{4}-\d\d-\d\d$/.test(text) && !isNaN(day) && day.toISOString().startsWith(text);
}

const sample = [
  { id: "urn:uuid:b81d36df-7004-57a4-82e9-d934f7bad5d3", number: "12a", finder: "finder-a", day: "2026-04-12", place: "Long Furlong",
    longitude: -1.2248, latitude: 52.50655, uncertainty: 5, depth: "7-9 in", name: "crotal bell", material: "green metal",
    picture: "12a.jpg", notMeasured: ["weight"] },
  { id: "urn:uuid:0d9f6a5e-3c1b-4f7a-9e52-6b8d1c4a7f30", number: "13", finder: "finder-a", day: "2026-04-12", place: "Long Furlong",
    depth: "more than a foot", name: "lead token", weight: "6.25 g" },
];

function answerTo(request) {
  if (request.operation === "describe") {
    return { output: { json: { implementation: "simple.mjs", version: "1", protocol: "1", operations: ["simple"] } } };
  }
  if (request.operation !== "simple") return { unsupported: `the operation ${request.operation}` };
  try {
    return { output: { json: report(request.input.json ?? JSON.parse(request.input.text)) } };
  } catch (e) {
    return { refused: { code: "", message: e.message } };
  }
}

if (globalThis.process?.argv[1]?.endsWith("simple.mjs")) {
  if (process.argv[2] === "conformance") {
    const { createInterface } = await import("node:readline");
    for await (const line of createInterface({ input: process.stdin })) {
      const request = JSON.parse(line);
      process.stdout.write(`${JSON.stringify({ id: request.id, ...answerTo(request) })}\n`);
    }
  } else {
    console.log(JSON.stringify(report(sample), null, 2));
  }
}

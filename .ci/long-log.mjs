// Writes a long log as JSON Lines, for measuring: the first find of testdata/valid/typical.findslip.json
// again and again, each with a number and a spot of its own. Usage: node long-log.mjs FINDS >LOG
import { createHash } from "node:crypto";
import { readFileSync, writeSync } from "node:fs";

const { finds, ...report } = JSON.parse(readFileSync("testdata/valid/typical.findslip.json", "utf8"));
const many = Number(process.argv[2]);
const { id: _, ...first } = finds[0];
// UUID of version 5 (RFC 9562), and the id of a find as section 3.6 of SPEC.md makes it of a folded number.
const version5 = (space, name) => {
  const b = createHash("sha1").update(Buffer.from(space.replaceAll("-", ""), "hex")).update(name).digest().subarray(0, 16);
  b[6] = (b[6] & 0x0f) | 0x50;
  b[8] = (b[8] & 0x3f) | 0x80;
  return b.toString("hex").replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
};
const space = version5("6ba7b811-9dad-11d1-80b4-00c04fd430c8", "https://w3id.org/findslip/1/find");
const idOf = (report, folded) => "urn:uuid:" + version5(space, `${report.slice("urn:uuid:".length)}\n${folded}`);
const known = JSON.parse(readFileSync("testdata/vectors/identity.json", "utf8")).find((v) => v.kind === "numbered");
if (idOf(known.report, known.expect.folded) !== known.expect.find) throw new Error(`the id of ${known.id} is not the one that the vector expects`);

const lines = [JSON.stringify({ type: "report", report })];
for (let i = 1; i <= many; i++) {
  // The fractions that multiples of the golden ratio and of the root of two leave fall evenly.
  const longitude = Number((-1.2227 + 0.001 * ((i * 0.6180339887) % 1)).toFixed(7));
  const latitude = Number((52.506 + 0.001 * ((i * 0.4142135624) % 1)).toFixed(7));
  lines.push(JSON.stringify({ type: "find", find: { id: idOf(report.id, String(i)), ...first, number: String(i), position: { ...first.position, longitude, latitude } } }));
}
lines.push(JSON.stringify({ type: "end", finds: many }));
const text = Buffer.from(lines.join("\n") + "\n");
for (let at = 0; at < text.length; ) at += writeSync(1, text, at);

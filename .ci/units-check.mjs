// Compares readings of lengths and weights with GNU units over random quantities.
// Usage: node units-check.mjs FINDSLIP
import { execFileSync } from "node:child_process";

// The same numbers on every run; 1664525 and 1013904223 are the usual pair for 32 bits (Numerical Recipes).
let seed = 20261125;
const random = (n) => { seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0; return Math.floor((seed / 2 ** 32) * n); };
const kinds = {
  length: { into: "cm", units: { mm: "mm", cm: "cm", m: "m", in: "in", ft: "ft", yd: "yd", dm: "dm", km: "km", thou: "mil", miles: "mile" } },
  weight: { into: "g", units: { mg: "mg", g: "g", kg: "kg", grains: "grain", oz: "oz", ozt: "troyounce", dwt: "dwt", lb: "lb", stone: "stone", scruples: "scruple", "metric carats": "carat", "lb t": "troypound", "drams avoirdupois": "dram", "drams apothecaries": "apdram" } },
};
let alike = 0, different = 0;
for (const [kind, { into, units }] of Object.entries(kinds)) {
  const texts = [], asked = [];
  const names = Object.keys(units);
  for (let i = 0; i < 200; i++) {
    const unit = names[random(names.length)];
    let number = String(random(400) + 1), theirs = number;
    if (i % 3 === 1) { number += `.${random(1000)}`; theirs = number; }
    if (i % 3 === 2) { const q = ["1/2", "1/4", "3/4"][random(3)]; theirs = `(${number}+${q})`; number = `${number} ${q}`; }
    texts.push(`${number} ${unit}`);
    asked.push([`${theirs} ${units[unit]}`, into]);
  }
  const ours = execFileSync(process.argv[2], ["read", kind, "--json", ...texts], { encoding: "utf8", maxBuffer: 1 << 26 }).trim().split("\n").map((l) => JSON.parse(l));
  for (let i = 0; i < texts.length; i++) {
    const theirs = Number(execFileSync("units", ["-t", "-o", "%.15g", ...asked[i]], { encoding: "utf8" }));
    if (ours[i].min === ours[i].max && Math.abs(ours[i].min - theirs) <= 1e-9 + 1e-12 * theirs) { alike++; continue; }
    different++;
    console.log(`${texts[i]}: ours ${ours[i].min}, units ${theirs} ${into}`);
  }
}
console.log(`units: ${alike} alike, ${different} different`);
process.exit(different === 0 && alike === 400 ? 0 : 1);

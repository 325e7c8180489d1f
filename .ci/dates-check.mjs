// Compares the spans of EDTF dates with a general-purpose EDTF library. Input lines: text<TAB>first
// day<TAB>last day, as our reader gives them. Differences that are agreed are named with the reason.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

const require = createRequire(process.env.PEERS + "/");
const library = require("edtf");
const edtf = library.default ?? library;

// By form: the library's way differs from the specification or from ISO 8601, see each reason.
const agreed = [
  [/T/, "it moves the day to UTC"],
  [/^-?Y|E|S\d/, "it makes NaN of long years and ignores significant digits"],
  [/-(2[1-9]|3\d|4[01])\b/, "it gives seasons and other parts of a year days, or terms of four months"],
  [/[[{]/, "it cuts a set at the start of a range"],
  [/^\.\.|\.\.$|^\/|\/$/, "open and unknown sides have no day"],
];
let same = 0, skipped = 0, different = 0;
for (const line of readFileSync(process.argv[2], "utf8").trim().split("\n")) {
  const [text, first, last] = line.split("\t");
  if (agreed.some(([form]) => form.test(text))) { skipped++; continue; }
  let got;
  try {
    const d = edtf(text);
    const day = (ms) => { const t = new Date(ms); const y = t.getUTCFullYear(); return `${y < 0 ? "-" : ""}${String(Math.abs(y)).padStart(4, "0")}-${String(t.getUTCMonth() + 1).padStart(2, "0")}-${String(t.getUTCDate()).padStart(2, "0")}`; };
    got = `${day(d.min)}\t${day(d.max)}`;
  } catch (e) { got = `refused: ${String(e.message).split("\n")[0]}`; }
  if (got === `${first}\t${last}`) { same++; continue; }
  different++;
  console.log(`${text}: ours ${first}..${last}, theirs ${got.replace("\t", "..")}`);
}
console.log(`EDTF spans: ${same} alike, ${different} different, ${skipped} of forms where the library is known to differ`);
process.exit(different === 0 && same > 60 ? 0 : 1);

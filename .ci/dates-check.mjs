// Compares the spans of EDTF dates with a general-purpose EDTF library of npm (edtf 4.11.1). Input lines:
// text<TAB>first day<TAB>last day, as our reader gives them; "none" is a side without a day.
// Usage: node dates-check.mjs SPANS
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

const require = createRequire(process.env.PEERS + "/");
const library = require("edtf");
const edtf = library.default ?? library;

// Where the two are known to differ, by date, and why ours stands. A line that is no longer needed fails.
const reasons = {
  utc: "the library moves the day to UTC; an offset never moves the finder's day",
  longYear: "the library makes NaN of years beyond four digits",
  significant: "the library leaves significant digits (S) out of account; EDTF level 2 lets them widen the span",
  rangeInSet: "the library takes the start of the last range in a set as the end of the set",
  fourMonths: "the library ends the first two terms of four months (ISO 8601-2, 37 and 38) a month late",
  unspecified: "the library reads no qualification behind unspecified digits; EDTF level 1 has both, and forbids neither beside the other",
  season: "the library gives a season days; EDTF fixes none",
};
const agreed = new Map(Object.entries({
  "1985-04-12T23:20:30-04": "utc",
  "Y170000002": "longYear", "Y-170000002": "longYear", "Y-17E7": "longYear", "Y171010000S3": "longYear", "Y3388E2S3": "longYear",
  "1950S2": "significant", "17XX?": "unspecified", "16XX?": "unspecified",
  "[1667,1668,1670..1672]": "rangeInSet", "{1667,1668,1670..1672}": "rangeInSet",
  "2001-21": "season", "2001-25": "season", "1799-21": "season",
  "2001-37": "fourMonths", "2001-38": "fourMonths",
}));

const day = (ms) => {
  if (ms === null || !Number.isFinite(ms)) return Number.isNaN(ms) ? "NaN" : "none";
  const t = new Date(ms), y = t.getUTCFullYear(), pad = (n, w) => String(n).padStart(w, "0");
  return `${y < 0 ? "-" : ""}${pad(Math.abs(y), 4)}-${pad(t.getUTCMonth() + 1, 2)}-${pad(t.getUTCDate(), 2)}`;
};
let same = 0, wrong = 0;
const used = new Map();
for (const line of readFileSync(process.argv[2], "utf8").trim().split("\n")) {
  const [text, first, last] = line.split("\t");
  let theirs;
  try {
    const d = edtf(text);
    theirs = `${day(d.min)}..${day(d.max)}`;
  } catch (e) {
    theirs = `refused: ${String(e.message).split("\n")[0]}`;
  }
  const alike = theirs === `${first}..${last}`;
  if (agreed.has(text)) {
    const why = agreed.get(text);
    used.set(why, (used.get(why) ?? 0) + 1);
    if (alike) { wrong++; console.log(`${text}: is listed as different and is alike now`); }
    agreed.delete(text);
  } else if (alike) {
    same++;
  } else {
    wrong++;
    console.log(`${text}: ours ${first}..${last}, theirs ${theirs}`);
  }
}
for (const text of agreed.keys()) { wrong++; console.log(`${text}: is listed as different and was not asked`); }
for (const [why, n] of used) console.log(`${n} agreed to differ: ${reasons[why]}`);
console.log(`spans of EDTF dates: ${same} alike, ${wrong} not`);
process.exit(wrong === 0 && same > 80 ? 0 : 1);

// node sheet-20k.mjs ROWS [COLUMNS]: a log of that many rows and up to 25 columns as CSV, as people keep them, for measuring
// the page. The same on every run.
const rows = Number(process.argv[2] ?? 20000), columns = Number(process.argv[3] ?? 25);
let seed = 20261129;
const random = () => { seed = (seed * 1103515245 + 12345) & 0x7fffffff; return seed / 0x7fffffff; };
const one = (list) => list[Math.floor(random() * list.length)];
const heads = ["Number", "Date", "Finder", "Field", "Grid ref", "How taken", "Depth", "Depth how", "Detector said", "Signal", "What", "Material",
  "How many", "Weight g", "Length mm", "Width mm", "Diameter mm", "Complete?", "Date of object", "Period", "Class", "Description", "Where now", "Who has it", "Notes"];
const cell = (v) => /[",\n]/.test(v) ? `"${v.replaceAll('"', '""')}"` : v;
const out = [heads.slice(0, columns).join(",")];
for (let i = 1; i <= rows; i++) {
  const inch = 2 + Math.floor(random() * 10);
  const row = [String(i), `${1 + Math.floor(random() * 28)}/${1 + Math.floor(random() * 12)}/${2010 + Math.floor(random() * 15)}`, one(["finder-a", "finder-b"]),
    one(["Long Furlong", "Chapel Piece"]), `SP 52${50 + Math.floor(random() * 50)} 90${10 + Math.floor(random() * 30)}`, one(["phone", "GPS"]), one([`${inch} in`, `${inch}-${inch + 2}"`, `about ${inch} in`]),
    one(["tape", "spade"]), `${inch - 1} in`, String(40 + Math.floor(random() * 50)), one(["crotal bell", "cloth seal", "jetton", "button", "musket ball", "thimble", "trade token", "buckle"]),
    one(["copper alloy", "lead", "pewter", "brass", "iron"]), one(["1", "1", "2"]), (random() * 20).toFixed(1), (10 + random() * 30).toFixed(0), (5 + random() * 20).toFixed(0), "", one(["complete", "broken", "bent"]),
    one(["17th century", "c. 1750", "early 18th century", "1690-1790"]), one(["post-medieval", "medieval", ""]), "", one(["two holes", "worn flat", "edge chipped"]), one(["with finder", "with landowner"]), "", one(["", "", "wet day", "by the oak, near the gate"])];
  out.push(row.slice(0, columns).map(cell).join(","));
}
console.log(out.join("\n"));

// A peer of the race: ajv with its code compiled beforehand. Usage: node ajv.mjs SCHEMA VALIDATOR writes the compiled
// validator; node ajv.mjs --check VALIDATOR FILE judges each line of a .jsonl file, or each item of a list.
import { createReadStream, readFileSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { resolve } from "node:path";
import { createInterface } from "node:readline";

const require = createRequire(resolve(process.cwd(), "x.js")); // the packages lie where it is started
const [first, second, file] = process.argv.slice(2);
if (first !== "--check") {
  const Ajv = require("ajv/dist/2020").default;
  const standalone = require("ajv/dist/standalone").default;
  const ajv = new Ajv({ code: { source: true }, strict: false });
  require("ajv-formats").default(ajv);
  writeFileSync(second, standalone(ajv, ajv.compile(JSON.parse(readFileSync(first, "utf8")))));
} else {
  const valid = require(resolve(second));
  let seen = 0;
  let bad = 0;
  const judge = (find) => {
    seen++;
    if (!valid(find)) bad++;
  };
  if (file.endsWith(".jsonl")) {
    for await (const line of createInterface({ input: createReadStream(file, { highWaterMark: 1 << 20 }) })) judge(JSON.parse(line));
  } else {
    JSON.parse(readFileSync(file, "utf8")).forEach(judge);
  }
  console.log(`${seen} finds, ${bad} refused`);
  process.exit(bad > 0 ? 1 : 0);
}

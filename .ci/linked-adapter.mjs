// An implementation of one conformance target, linked, in another language: the context of the format
// and a general JSON-LD library (jsonld of npm). It answers the requests of the conformance runner,
// as testdata/suite/README.md has them: go run ./cmd/standard suite -target linked -- node .ci/linked-adapter.mjs
// PEERS is the folder in which npm has put the library.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { createInterface } from "node:readline";

const require = createRequire(process.env.PEERS + "/");
const jsonld = require("jsonld");
const context = JSON.parse(readFileSync(new URL("../schema/context.jsonld", import.meta.url), "utf8"));
// The name of our context is answered with the file; everything else is refused.
const documentLoader = async (url) => {
  if (url === "https://w3id.org/findslip/1/context") return { contextUrl: null, documentUrl: url, document: context };
  throw new Error(`${url} is asked for; nothing may be fetched`);
};

// triples turns a report into N-Quads; in its safe mode the library fails where anything is dropped.
async function triples({ options = {}, input }) {
  const report = input.json ?? JSON.parse(input.text ?? Buffer.from(input.base64, "base64").toString());
  if (options.publish && report.audience !== "public") {
    return { refused: { code: "", message: "only a copy for the public is published as linked data" } };
  }
  const text = await jsonld.toRDF(report, { expandContext: context, documentLoader, safe: true, format: "application/n-quads" });
  return { output: { text } };
}

const operations = {
  describe: async () => ({ output: { json: { implementation: "linked-adapter", version: "1.0", protocol: "1", operations: ["triples"] } } }),
  triples,
};
for await (const line of createInterface({ input: process.stdin })) {
  if (!line.trim()) continue;
  const request = JSON.parse(line);
  const work = operations[request.operation];
  let answer;
  try {
    answer = work ? await work(request) : { unsupported: `the operation ${request.operation}` };
  } catch (e) {
    answer = { refused: { code: "", message: e.message } };
  }
  process.stdout.write(JSON.stringify({ id: request.id, ...answer }) + "\n");
}

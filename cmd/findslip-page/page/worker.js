// The worker: it unpacks the program, starts it, and answers one request after the other.
"use strict";
let ready;
globalThis.findslipReady = () => ready();

// bytesOf reads the program: letters of windows-1252, one a byte, with an escape before the four that a page cannot
// hold; in a page that is served, base64.
function bytesOf(text, served) {
  if (served) return Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
  const at = new Map([...new TextDecoder("windows-1252").decode(Uint8Array.from({ length: 32 }, (_, i) => 128 + i))].map((c, i) => [c.charCodeAt(0), 128 + i]));
  const escaped = [0, 13, 60, 27], out = new Uint8Array(text.length);
  let n = 0;
  for (let i = 0; i < text.length; i++) {
    const c = text.charCodeAt(i);
    out[n++] = c === 27 ? escaped[text.charCodeAt(++i) - 48] : c < 128 ? c : at.get(c) ?? c;
  }
  return out.subarray(0, n);
}

async function start(packed, served) {
  const bytes = bytesOf(packed, served);
  const plain = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  const program = await new Response(plain).arrayBuffer();
  const go = new Go();
  go.env.GOGC = "400"; // the collector runs less often; the memory of a browser allows it
  go.env.GOMEMLIMIT = "250MiB"; // beyond that it runs as often as it must: memory that was taken is never given back
  const { instance } = await WebAssembly.instantiate(program, go.importObject);
  const up = new Promise((resolve) => { ready = resolve; });
  go.run(instance).then(() => postMessage({ ended: true }));
  await up;
}

// warm checks a log that is nobody's while nobody asks for anything: tables are made and the browser compiles what is
// used most, which is half the work of the first log. In pieces, so that whoever comes in between does not wait.
let asked = false;
function warm(pieces) {
  if (asked || !pieces) return;
  const rows = Array.from({ length: 40 }, (_, i) => [i + 1, i % 9 ? `${i % 28 + 1} ${["March", "May"][i % 2]} 2026` : "3/4/26", i % 5 ? "ditto" : "Long Furlong", `SP 52${100 + i} 95${200 + i}`,
    ["button", "musket ball", "penny, worn", "buckle"][i % 4], ["brass", "lead", "silver?", "cu alloy"][i % 4], `${i + 0.5} g`, `${i + 9} mm`, i % 3 ? `${i % 9 + 4} in` : "about 10", "A. Finder", "good", "note " + i]);
  const text = [["No", "Date", "Field", "Grid ref", "Find", "Material", "Weight", "Size", "Depth", "Finder", "Condition", "Notes"], ...rows].map((r) => r.map((c) => `"${c}"`).join(",")).join("\n");
  globalThis.findslipAnswer(JSON.stringify({ do: "check", name: "sample.csv", brief: true }), [{ name: "sample.csv", bytes: new TextEncoder().encode(text) }]);
  setTimeout(() => warm(pieces - 1), 100);
}

onmessage = async ({ data }) => {
  if (data.start) {
    try {
      await start(data.start, data.served);
      postMessage({ ready: true });
      setTimeout(() => warm(4), 200);
    } catch (error) {
      postMessage({ ready: true, error: String(error.message ?? error) });
    }
    return;
  }
  asked ||= data.ask.do !== "headings";
  const progress = (finds, pass) => postMessage({ id: data.id, finds, pass });
  const answer = globalThis.findslipAnswer(JSON.stringify(data.ask), data.files ?? [], progress);
  postMessage({ id: data.id, answer }, answer.content ? [answer.content.buffer] : []);
};

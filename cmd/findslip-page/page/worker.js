// The worker: it unpacks the program, starts it, and answers one request after the other.
"use strict";
let ready;
globalThis.findslipReady = () => ready();

// bytesOf reads text of seven bits a letter; letters from U+00C0 on stand for those that a page cannot hold.
function bytesOf(text) {
  const escaped = [0, 13, 60], out = new Uint8Array(Math.floor(text.length * 7 / 8));
  let at = 0, bits = 0, n = 0;
  for (let i = 0; i < text.length; i++) {
    let c = text.charCodeAt(i);
    if (c >= 0xc0) c = escaped[c - 0xc0];
    bits = (bits << 7 | c) & 0x7fff;
    n += 7;
    if (n >= 8) {
      n -= 8;
      out[at++] = bits >> n & 255;
    }
  }
  return out;
}

async function start(packed) {
  const bytes = bytesOf(packed);
  const plain = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  const program = await new Response(plain).arrayBuffer();
  const go = new Go();
  go.env.GOGC = "400"; // the collector runs less often; the memory of a browser allows it
  const { instance } = await WebAssembly.instantiate(program, go.importObject);
  const up = new Promise((resolve) => { ready = resolve; });
  go.run(instance).then(() => postMessage({ ended: true }));
  await up;
}

onmessage = async ({ data }) => {
  if (data.start) {
    try {
      await start(data.start);
      postMessage({ ready: true });
    } catch (error) {
      postMessage({ ready: true, error: String(error.message ?? error) });
    }
    return;
  }
  const progress = (finds) => postMessage({ id: data.id, finds });
  const answer = globalThis.findslipAnswer(JSON.stringify(data.ask), data.files ?? [], progress);
  postMessage({ id: data.id, answer }, answer.content ? [answer.content.buffer] : []);
};

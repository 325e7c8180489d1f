// The worker: it unpacks the program, starts it, and answers one request after the other.
"use strict";
let ready;
globalThis.findslipReady = () => ready();

// bytesOf reads Ascii85: five letters are four bytes, z is four zeros, line ends say nothing.
function bytesOf(text) {
  const out = new Uint8Array(text.length);
  let at = 0, value = 0, n = 0;
  for (let i = 0; i < text.length; i++) {
    const c = text.charCodeAt(i);
    if (c === 10 || c === 13) continue;
    if (c === 122 && n === 0) {
      at += 4;
      continue;
    }
    value = value * 85 + c - 33;
    if (++n < 5) continue;
    for (let shift = 24; shift >= 0; shift -= 8) out[at++] = (value >>> shift) & 255;
    value = n = 0;
  }
  if (n > 0) {
    for (let i = n; i < 5; i++) value = value * 85 + 84;
    for (let i = 0, shift = 24; i < n - 1; i++, shift -= 8) out[at++] = (value >>> shift) & 255;
  }
  return out.subarray(0, at);
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

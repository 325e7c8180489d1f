// The worker: it unpacks the program, starts it, and answers one request after the other.
"use strict";
let ready;
globalThis.findslipReady = () => ready();

async function start(packed) {
  const text = atob(packed);
  const bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i++) bytes[i] = text.charCodeAt(i);
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

"use strict";
// One engine: a text goes in, a text comes out.
let engine;
const [encoder, decoder] = [new TextEncoder(), new TextDecoder()];

function call(name, text) {
  const bytes = encoder.encode(text);
  // The memory may move while there is made room.
  const room = engine.room(bytes.length);
  new Uint8Array(engine.memory.buffer, room, bytes.length).set(bytes);
  const length = engine[name]();
  return decoder.decode(new Uint8Array(engine.memory.buffer, engine.out(), length));
}

onmessage = ({ data }) => {
  try {
    if (data.engine) {
      engine = new WebAssembly.Instance(data.engine, {}).exports;
      call("open", data.text);
    } else {
      postMessage({ told: call("answer", data.wish), memory: engine.memory.buffer.byteLength });
    }
  } catch (error) {
    postMessage({ trap: String(error) });
  }
};

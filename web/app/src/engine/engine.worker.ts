/// <reference lib="webworker" />
// Runs the engine: the same Go code as the server's, compiled to WebAssembly. It is served as files that are not part of this
// build, so their addresses are fixed. The worker's name says which of the two programs: engine, or practice.
import type { EngineAnswer, EngineCall } from './client.ts';

interface GoRuntime {
  readonly importObject: WebAssembly.Imports;
  run(instance: WebAssembly.Instance): Promise<void>;
}

declare const self: DedicatedWorkerGlobalScope & {
  Go: new () => GoRuntime;
  thwartReady: () => void;
  thwartCall: (request: Uint8Array) => Uint8Array;
};

const encode = new TextEncoder();
const decode = new TextDecoder();

async function start(): Promise<void> {
  const runtime = '/engine/wasm_exec.js';
  const [wasm] = await Promise.all([
    WebAssembly.compileStreaming(fetch(`/engine/${self.name}.wasm`)),
    import(/* @vite-ignore */ runtime),
  ]);
  const go = new self.Go();
  const ready = new Promise<void>((resolve) => {
    self.thwartReady = resolve;
  });
  const ended = go.run(await WebAssembly.instantiate(wasm, go.importObject)).then(() => {
    throw new Error('the engine ended');
  });
  // An engine that ends later, by a defect, must be noticed: a worker's unhandled rejection reaches nobody.
  ended.catch((error: unknown) => tell({ ended: String(error) }));
  await Promise.race([ready, ended]);
}

function tell(answer: EngineAnswer): void {
  self.postMessage(answer);
}

const started = start();
started.then(
  () => tell({ ready: true }),
  (error: unknown) => tell({ ended: String(error) }),
);

self.onmessage = async ({ data }: MessageEvent<readonly EngineCall[]>) => {
  try {
    await started;
    tell({ answers: data.map(({ n, text }) => ({ n, text: decode.decode(self.thwartCall(encode.encode(text))) })) });
  } catch (error) {
    tell({ ended: String(error) });
  }
};

// Runs a program of a folder, such as engine.wasm: one call a line from standard input, one answer a line to standard output.
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join, resolve } from 'node:path';
import { createInterface } from 'node:readline';

const dir = resolve(process.argv[2]);
createRequire(import.meta.url)(join(dir, 'wasm_exec.js'));
const go = new globalThis.Go();
const { instance } = await WebAssembly.instantiate(readFileSync(join(dir, process.argv[3] ?? 'engine.wasm')), go.importObject);
await new Promise((ready) => {
  globalThis.thwartReady = ready;
  go.run(instance);
});
const encode = new TextEncoder();
const decode = new TextDecoder();
for await (const line of createInterface({ input: process.stdin, crlfDelay: Number.POSITIVE_INFINITY })) {
  const answer = `${decode.decode(globalThis.thwartCall(encode.encode(line)))}\n`;
  if (!process.stdout.write(answer)) await new Promise((drained) => process.stdout.once('drain', drained));
}
process.stdout.end(() => process.exit(0));

// Runs files of browser tests, so many at a time: node again.mjs [--at-once 2] file ...
//
// A browser on a busy machine now and then drops a frame, a key or a connection. A file that fails is therefore run once
// more, alone, after the others. What failed the first time is printed and named at the end either way, so that an unsteady
// test is seen and mended; what fails twice fails the run.
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { parseArgs } from 'node:util';

const { values, positionals } = parseArgs({ options: { 'at-once': { type: 'string', default: '1' } }, allowPositionals: true });
const atOnce = Number(values['at-once']);
if (!Number.isInteger(atOnce) || atOnce < 1) throw new Error(`--at-once: ${values['at-once']} is not accepted; accepted: 1 or more`);
if (positionals.length === 0) throw new Error('no files given; accepted: files of tests');

// A file that takes longer than this hangs.
const limit = 20 * 60_000;

/** Runs one file and prints what it said when it has ended, so that files do not talk into each other. */
async function passes(file) {
  const child = spawn(process.execPath, ['--test', '--test-reporter=spec', file], { stdio: ['ignore', 'pipe', 'pipe'], timeout: limit });
  const said = [];
  child.stdout.on('data', (d) => said.push(d));
  child.stderr.on('data', (d) => said.push(d));
  const [code] = await once(child, 'close');
  console.log(`${file}\n${Buffer.concat(said)}`);
  return code === 0;
}

const waiting = [...positionals];
const failed = [];
const lane = async () => {
  for (let file = waiting.shift(); file; file = waiting.shift()) if (!(await passes(file))) failed.push(file);
};
await Promise.all(Array.from({ length: atOnce }, lane));

const twice = [];
for (const file of failed) {
  console.log(`${file}: failed; once more, alone`);
  if (!(await passes(file))) twice.push(file);
}
for (const file of failed) console.log(`${file}: ${twice.includes(file) ? 'FAILED twice' : 'UNSTEADY: failed once, passed alone'}`);
process.exitCode = twice.length > 0 ? 1 : 0;

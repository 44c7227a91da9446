// Builds the service worker of the ramp with the list of what the ramp is made of. Runs after the app has been built.
import { createHash } from 'node:crypto';
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { build } from 'vite';

const dist = fileURLToPath(new URL('../../../internal/webui/dist/', import.meta.url));
const manifest = JSON.parse(readFileSync(`${dist}.vite/manifest.json`, 'utf8'));

/** Files that an entry needs, those of lazy parts too. The office's are not among them. */
function reach(key, found = new Set()) {
  const chunk = manifest[key];
  if (!chunk || found.has(chunk.file)) return found;
  found.add(chunk.file);
  for (const file of [...(chunk.css ?? []), ...(chunk.assets ?? [])]) found.add(file);
  for (const next of [...(chunk.imports ?? []), ...(chunk.dynamicImports ?? [])]) reach(next, found);
  return found;
}

const files = new Set(reach('ramp/index.html'));
// Fonts are named inside style sheets; workers, icons and the web manifest lie in the ramp's own folder.
for (const css of [...files].filter((f) => f.endsWith('.css'))) {
  for (const [, font] of readFileSync(dist + css, 'utf8').matchAll(/url\(["']?\/(assets\/[^)"']+\.woff2)/g))
    files.add(font);
}
for (const name of readdirSync(`${dist}ramp`)) if (!/^index\.html|\.br$|^sw\.js$/.test(name)) files.add(`ramp/${name}`);
for (const name of ['engine/engine.wasm', 'engine/wasm_exec.js']) {
  if (existsSync(dist + name)) files.add(name);
  else console.warn(`service worker: ${name} is missing; build it with: make wasm`);
}

/** Kept by the service worker from their first use on. */
const later = ['engine/practice.wasm'].filter((name) => existsSync(dist + name));

const hash = (file) =>
  createHash('sha256')
    .update(readFileSync(dist + file))
    .digest('hex');
const list = [...files]
  .filter((f) => !/\.(woff|map)$/.test(f))
  .sort()
  .map((f) => [`/${f}`, hash(f)]);
list.push(['/ramp/', hash('ramp/index.html')]);
const worker = fileURLToPath(new URL('../src/phone/ramp.sw.ts', import.meta.url));
const version = createHash('sha256')
  .update(JSON.stringify(list))
  .update(JSON.stringify(later.map(hash)))
  .update(readFileSync(worker))
  .digest('hex')
  .slice(0, 12);

await build({
  configFile: false,
  publicDir: false,
  logLevel: 'warn',
  define: {
    __PRECACHE__: JSON.stringify(list),
    __LATER__: JSON.stringify(later.map((f) => [`/${f}`, hash(f)])),
    __VERSION__: JSON.stringify(version),
  },
  build: {
    outDir: `${dist}ramp`,
    emptyOutDir: false,
    target: 'es2022',
    rolldownOptions: { input: worker, output: { format: 'iife', entryFileNames: 'sw.js' } },
  },
});

// Writes file.br beside every file of the build that is worth it, so that the server need not compress.
import { readdirSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { brotliCompressSync, constants } from 'node:zlib';

const dist = fileURLToPath(new URL('../../../internal/webui/dist/', import.meta.url));
const worth = /\.(js|css|html|json|wasm|svg|webmanifest)$/;

for (const name of readdirSync(dist, { recursive: true })) {
  const path = join(dist, name);
  if (!worth.test(name) || !statSync(path).isFile()) continue;
  const data = readFileSync(path);
  const packed = brotliCompressSync(data, {
    params: { [constants.BROTLI_PARAM_QUALITY]: 11, [constants.BROTLI_PARAM_SIZE_HINT]: data.length },
  });
  if (packed.length < data.length) writeFileSync(`${path}.br`, packed);
}

// Prints a file's size, and its size as served: brotli at quality 11, as the web app's build compresses it.
import { readFileSync } from 'node:fs';
import { brotliCompressSync, constants, gzipSync } from 'node:zlib';

const data = readFileSync(process.argv[2]);
const params = { [constants.BROTLI_PARAM_QUALITY]: 11, [constants.BROTLI_PARAM_SIZE_HINT]: data.length };
console.log(data.length, gzipSync(data, { level: 9 }).length, brotliCompressSync(data, { params }).length);

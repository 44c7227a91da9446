// Empties the build folder but for the file that holds its place in version control.
import { readdirSync, rmSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const dist = fileURLToPath(new URL('../../../internal/webui/dist/', import.meta.url));
for (const name of readdirSync(dist)) if (name !== 'README') rmSync(dist + name, { recursive: true });

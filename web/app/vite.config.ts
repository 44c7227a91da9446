import { fileURLToPath } from 'node:url';
import react from '@vitejs/plugin-react';
import { configDefaults, defineConfig } from 'vitest/config';

const here = (path: string) => fileURLToPath(new URL(path, import.meta.url));

const version = process.env.THWART_VERSION ?? 'dev';

// Two apps from one build: the ramp is small and works without a network; the office may load more.
export default defineConfig({
  plugins: [react()],
  base: '/',
  define: { __APP_VERSION__: JSON.stringify(version) },
  // A page's workers are under its service worker only where their addresses are below its own.
  worker: { format: 'es', rolldownOptions: { output: { entryFileNames: 'ramp/[name]-[hash].js' } } },
  // The typed client of the server lives beside this app and has no packages of its own here.
  resolve: { dedupe: ['openapi-fetch'] },
  build: {
    outDir: here('../../internal/webui/dist'),
    emptyOutDir: false, // a file in version control holds the folder's place; scripts/clean.mjs empties the rest
    manifest: true,
    target: 'es2022',
    assetsInlineLimit: 0, // the server's content security policy allows no data: fonts
    chunkSizeWarningLimit: 1200, // the map library, which only pages with a map read
    rolldownOptions: {
      input: { ramp: here('ramp/index.html'), office: here('office/index.html') },
    },
  },
  server: { proxy: { '/api': 'http://localhost:8080' } },
  // The tests in a real browser are run by Node.
  test: { exclude: [...configDefaults.exclude, 'e2e/**'] },
});

// A programme's own base map, in a real browser against the real binary: an archive of tiles is made here from the open text of the
// PMTiles specification (version 3) and of vector tiles (version 2.1), served with --basemap, drawn below the waters, turned off.
// Pictures are kept in ../../out/basemap for whoever wants to look for themselves.
import assert from 'node:assert/strict';
import { mkdir, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { after, before, describe, test } from 'node:test';
import { deflateSync, gzipSync } from 'node:zlib';
import { enter, look, serve, settled } from './browser.mjs';

const shots = path.join(import.meta.dirname, '../../out/basemap');
let folder;
before(async () => {
  await mkdir(shots, { recursive: true });
  folder = await mkdtemp(path.join(tmpdir(), 'thwart-basemap-'));
});
after(() => rm(folder, { recursive: true, force: true }));

const varint = (n) => {
  const out = [];
  for (; n > 127; n = Math.floor(n / 128)) out.push((n % 128) | 128);
  return Buffer.from([...out, n]);
};
const field = (number, bytes) => Buffer.concat([varint(number * 8 + 2), varint(bytes.length), bytes]);
const value = (number, n) => Buffer.concat([varint(number * 8), varint(n)]);
const zigzag = (n) => (n < 0 ? -2 * n - 1 : 2 * n);

/** A geometry of the vector tile form: one ring or one line through points of a tile 4096 wide. */
function geometry(points, closed) {
  let [x, y] = [0, 0];
  const steps = points.map(([px, py]) => {
    const step = [zigzag(px - x), zigzag(py - y)];
    [x, y] = [px, py];
    return step;
  });
  const numbers = [9, ...steps[0], ((steps.length - 1) << 3) | 2, ...steps.slice(1).flat(), ...(closed ? [15] : [])];
  return Buffer.concat(numbers.map(varint));
}

/** A layer of one feature, with its class where it has one. */
function layer(name, points, closed, kind) {
  const feature = Buffer.concat([...(kind ? [field(2, Buffer.from([0, 0]))] : []), value(3, closed ? 3 : 2), field(4, geometry(points, closed))]);
  const words = kind ? [field(3, Buffer.from('class')), field(4, field(1, Buffer.from(kind)))] : [];
  return field(3, Buffer.concat([value(15, 2), field(1, Buffer.from(name)), field(2, feature), ...words, value(5, 4096)]));
}

const shapes = gzipSync(Buffer.concat([
  layer('land', [[0, 0], [4096, 0], [4096, 4096], [0, 4096]], true),
  layer('cover', [[200, 200], [1800, 400], [1500, 1600], [300, 1300]], true, 'lake'),
  layer('roads', [[0, 3000], [1500, 2600], [2600, 3300], [4096, 2900]], false),
  layer('roads2', [[2000, 0], [2300, 1700], [1900, 4096]], false),
]));

/** A picture 256 wide in one strong colour. */
function picture() {
  const chunk = (name, data) => {
    const body = Buffer.concat([Buffer.from(name), data]);
    const out = Buffer.alloc(body.length + 8);
    out.writeUInt32BE(data.length);
    body.copy(out, 4);
    out.writeUInt32BE(crc(body), body.length + 4);
    return out;
  };
  const head = Buffer.from([0, 0, 1, 0, 0, 0, 1, 0, 8, 2, 0, 0, 0]);
  const rows = Buffer.concat(Array.from({ length: 256 }, (_, y) => Buffer.concat([Buffer.from([0]), ...Array.from({ length: 256 }, (_, x) => Buffer.from((x >> 5) % 2 === (y >> 5) % 2 ? [20, 120, 40] : [40, 60, 200]))])));
  return Buffer.concat([Buffer.from('\x89PNG\r\n\x1a\n', 'latin1'), chunk('IHDR', head), chunk('IDAT', deflateSync(rows)), chunk('IEND', Buffer.alloc(0))]);
}

function crc(body) {
  let c = ~0;
  for (const b of body) {
    c ^= b;
    for (let i = 0; i < 8; i++) c = c & 1 ? (c >>> 1) ^ 0xedb88320 : c >>> 1;
  }
  return ~c >>> 0;
}

/** The first tile number of a zoom: all tiles of the zooms above come before. */
const first = (zoom) => (4 ** zoom - 1) / 3;

/** An archive in which every tile of the zooms down to the deepest is the same. */
function archive(tile, type, packing, deepest, metadata) {
  const root = gzipSync(Buffer.concat([varint(1), varint(0), varint(first(deepest + 1)), varint(tile.length), varint(1)]));
  const meta = gzipSync(JSON.stringify(metadata));
  const head = Buffer.alloc(127);
  head.write('PMTiles');
  head[7] = 3;
  let at = 127;
  [root.length, meta.length, 0, tile.length].forEach((length, i) => {
    head.writeBigUInt64LE(BigInt(at), 8 + 16 * i);
    head.writeBigUInt64LE(BigInt(length), 16 + 16 * i);
    at += length;
  });
  [first(deepest + 1), 1, 1].forEach((n, i) => head.writeBigUInt64LE(BigInt(n), 72 + 8 * i));
  head.set([1, 2, packing, type, 0, deepest], 96);
  [-180, -85, 180, 85].forEach((degrees, i) => head.writeInt32LE(degrees * 1e7, 102 + 4 * i));
  return Buffer.concat([head, root, meta, tile]);
}

const owed = '<a href="https://maps.example/owed">© The invented survey</a>';
const maps = {
  shapes: archive(shapes, 1, 2, 10, { attribution: owed, vector_layers: ['land', 'cover', 'roads', 'roads2'].map((id) => ({ id, fields: {} })) }),
  pictures: archive(picture(), 2, 1, 10, { attribution: owed }),
};

/** Shares of the drawn map that are near each colour. Counted on a page of its own, whose policy lets it read a picture. */
async function shares(page, colours) {
  await page.waitForTimeout(800); // the map fades tiles in
  const png = (await page.locator('.region canvas').screenshot()).toString('base64');
  const blank = await page.context().newPage();
  const out = await blank.evaluate(async ([png, colours]) => {
    const image = new Image();
    image.src = `data:image/png;base64,${png}`;
    await image.decode();
    const flat = new OffscreenCanvas(image.width, image.height).getContext('2d');
    flat.drawImage(image, 0, 0);
    const { data } = flat.getImageData(0, 0, image.width, image.height);
    const near = (i, c) => Math.max(Math.abs(data[i] - c[0]), Math.abs(data[i + 1] - c[1]), Math.abs(data[i + 2] - c[2])) < 3;
    return colours.map((c) => {
      let n = 0;
      for (let i = 0; i < data.length; i += 4) if (near(i, c)) n++;
      return n / (data.length / 4);
    });
  }, [png, colours]);
  await blank.close();
  return out;
}

const paper = [0xfb, 0xfa, 0xf6];
const land = [0xf1, 0xef, 0xe7];
const water = [0xdf, 0xe8, 0xea];
const infested = [0x14, 0x20, 0x2b];

async function start(name) {
  const file = path.join(folder, `${name}.pmtiles`);
  await writeFile(file, maps[name]);
  return serve(`basemap-${name}`, '--demo', '--scale', '0.01', '--basemap', file);
}

describe('a base map', () => {
  test('of shapes lies below the waters, is owed to somebody, and can be left away', async (t) => {
    const { url } = await start('shapes');
    const page = await enter(t, 1440, `${url}/office/map`);
    await settled(page);
    await page.getByText('The invented survey').waitFor();
    const on = await shares(page, [paper, land, water, infested]);
    assert.ok(on[0] < 0.05 && on[1] > 0.3 && on[2] > 0.05 && on[3] > 0.001, `paper, land, water, infested: ${on}`);
    assert.equal(await page.getByRole('link', { name: 'The invented survey' }).getAttribute('href'), 'https://maps.example/owed');
    await look(page, 'the map over a base map', { scripts: 4 });
    await page.screenshot({ path: path.join(shots, 'shapes-1440.png'), fullPage: true });
    await page.getByLabel('Show the base map').focus();
    await page.keyboard.press('Space');
    const off = await shares(page, [paper, land, water, infested]);
    assert.ok(off[0] > 0.3 && off[1] < 0.001 && off[2] < 0.001, `turned off: ${off}`);
    assert.ok(Math.abs(off[3] - on[3]) < 0.002, `the infested waters changed: ${on[3]} and ${off[3]}`);
    await page.reload();
    await settled(page);
    assert.equal(await page.getByLabel('Show the base map').isChecked(), false, 'the choice is kept');
    assert.equal(await page.getByText('The invented survey').count(), 0);
    await page.getByLabel('Show the base map').check();
    await page.setViewportSize({ width: 360, height: 800 });
    await page.waitForTimeout(800);
    await look(page, 'the map over a base map at 360 px', { scripts: 4 });
    await page.screenshot({ path: path.join(shots, 'shapes-360.png'), fullPage: true });
    await page.goto(`${url}/office/traffic`);
    await settled(page);
    await page.getByText('The invented survey').waitFor();
    await page.waitForTimeout(1500);
    await page.screenshot({ path: path.join(shots, 'flows-360.png'), fullPage: true });
  });

  test('of pictures is washed out below the waters', async (t) => {
    const { url } = await start('pictures');
    const page = await enter(t, 1440, `${url}/office/map`);
    await settled(page);
    await page.getByText('The invented survey').waitFor();
    const on = await shares(page, [paper, infested, [20, 120, 40], [40, 60, 200]]);
    assert.ok(on[0] < 0.05, `bare paper: ${on[0]}`);
    assert.ok(on[1] > 0.001, `infested waters: ${on[1]}`);
    assert.ok(on[2] + on[3] < 0.001, 'the pictures are as strong as they were made');
    await page.screenshot({ path: path.join(shots, 'pictures-1440.png'), fullPage: true });
  });

  test('that is none keeps the server from starting, and the reason is said', async () => {
    const file = path.join(folder, 'broken.pmtiles');
    await writeFile(file, maps.shapes.subarray(0, maps.shapes.length - 5));
    await assert.rejects(serve('basemap-broken', '--demo', '--scale', '0.01', '--basemap', file), /broken\.pmtiles is no base map: .*cut off.*accepted: .*PMTiles/s);
  });
});

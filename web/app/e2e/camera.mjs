// A camera that shows a picture: a film of one frame that the browser plays in its camera's place, in the YUV4MPEG2 form of MJPEG tools.
import { writeFile } from 'node:fs/promises';

const [WIDTH, HEIGHT] = [640, 480];

/** Arguments of a browser whose camera shows the file. */
export const cameraOf = (file) => ['--use-fake-ui-for-media-stream', '--use-fake-device-for-media-stream', `--use-file-for-fake-video-capture=${file}`];

/** Films the code on a page's screen as a phone held before it sees it: on a dark ground, a little turned. */
export async function film(page, file) {
  const grey = await page.evaluate(async ([w, h]) => {
    const img = document.querySelector('img.qr');
    await img.decode();
    const canvas = new OffscreenCanvas(w, h);
    const pen = canvas.getContext('2d');
    pen.fillStyle = '#555';
    pen.fillRect(0, 0, w, h);
    pen.translate(w / 2, h / 2);
    pen.rotate(0.07);
    pen.fillStyle = '#fff';
    pen.fillRect(-225, -225, 450, 450);
    pen.drawImage(img, -215, -215, 430, 430);
    const { data } = pen.getImageData(0, 0, w, h);
    return Array.from({ length: w * h }, (_, i) => Math.round(16 + (data[4 * i] * 219) / 255));
  }, [WIDTH, HEIGHT]);
  const frame = Buffer.concat([Buffer.from('FRAME\n'), Buffer.from(grey), Buffer.alloc((WIDTH * HEIGHT) / 2, 128)]);
  await writeFile(file, Buffer.concat([Buffer.from(`YUV4MPEG2 W${WIDTH} H${HEIGHT} F10:1 Ip A1:1 C420jpeg\n`), ...Array(10).fill(frame)]));
}

// Stands in for the worker process: what it does is written in the name of the first photo.
// It shows how the rest of the program bears a worker that dies, hangs or throws.
import { readFileSync, writeFileSync } from 'node:fs';
import sharp from 'sharp';

const report = JSON.parse(readFileSync(process.env.REPORT_OF_SCRIPTED_WORKER, 'utf8'));
const picture = sharp({ create: { width: 4, height: 4, channels: 3, background: '#a98' } });
const planViewJpeg = new Uint8Array(await picture.jpeg().toBuffer());
const planView = { widthPx: 4, heightPx: 4, mmPerPx: 1, originInTable: [0, 4], heightMm: 17.5 };

process.on('message', ({ id, name, input }) => {
  if (name === 'reduce-photo') {
    process.send({ id, result: { ok: true, value: { format: 'jpeg', widthPx: 4000, heightPx: 3000 } } });
    return;
  }
  if (name === 'look-at-photo') {
    const look = { remarks: ['dark'], markers: [7], tiltRad: 0.2, wholeTable: null, edgeWidthPx: 3 };
    process.send({ id, result: { ok: true, value: look } });
    return;
  }
  if (input.corrections && process.env.TOLD_TO_SCRIPTED_WORKER)
    writeFileSync(process.env.TOLD_TO_SCRIPTED_WORKER, JSON.stringify(input.corrections));
  const script = input.photos?.[0]?.name ?? 'done.jpg';
  const done = () =>
    process.send({
      id,
      result: { ok: true, value: { report, planView, planViewJpeg } },
    });
  process.send({ id, progress: { stage: 'markers', photo: script, ratio: 0.2 } });
  if (script.startsWith('done')) done();
  else if (script.startsWith('slow')) setTimeout(done, 400);
  else if (script.startsWith('hang')) for (;;);
  else if (script.startsWith('exit')) process.exit(3);
  else if (script.startsWith('kill')) process.kill(process.pid, 'SIGKILL');
  else if (script.startsWith('throw')) process.send({ id, fault: 'Error: something broke' });
  else if (script.startsWith('blind'))
    process.send({ id, result: { ok: false, problem: { code: 'no-marker', data: { name: script } } } });
});
process.on('disconnect', () => process.exit(0));

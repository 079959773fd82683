import { InputError } from '../units/input-error.ts';
import { flightGeometry, heightForGroundSampleDistance, type Camera } from '../flight/camera-arithmetic.ts';
import { flyAgain } from '../flight/fly-again.ts';
import { readRecordFile } from './read-file.ts';
import type { Arguments, Verb } from './verb.ts';

const MILLIMETRES = 0.001;
const CENTIMETRES = 0.01;

export const flightVerb: Verb = {
  name: 'flight',
  operands: '[RECORD]',
  about:
    'Ground sample distance, footprint and photo distances for a camera and a height, or the height for a wanted distance; with a record, ' +
    'what to photograph again. Flying over people, property and near airfields is ruled by local law; the pilot decides.',
  flags: [
    { name: 'sensor-mm', value: 'n', about: 'Width of the sensor.' },
    { name: 'focal-mm', value: 'n', about: 'Focal length.' },
    { name: 'pixels', value: 'WxH', about: 'Image size.' },
    { name: 'height-m', value: 'n', about: 'Height above the roof.' },
    { name: 'gsd-cm', value: 'n', about: 'Wanted ground sample distance, cm per pixel, instead of a height.' },
    { name: 'forward', value: 'n', about: 'Forward overlap, per cent. Default 80.' },
    { name: 'side', value: 'n', about: 'Side overlap, per cent. Default 70.' },
    { name: 'json', about: 'Write the figures as JSON.' },
    { name: 'help', about: 'This page.' },
  ],
  run: flight,
};

async function flight(args: Arguments): Promise<number> {
  const [recordPath] = args.operands;
  const camera = cameraFrom(args);
  if (!camera && recordPath === undefined) throw new InputError('roofdatum flight', 'give a camera (--sensor-mm, --focal-mm, --pixels) or a record.');
  const geometry = camera && geometryFrom(args, camera);
  const again = recordPath === undefined ? [] : flyAgain(await readRecordFile(recordPath));
  if (args.has('json')) {
    process.stdout.write(`${JSON.stringify({ geometry, again }, null, 1)}\n`);
    return 0;
  }
  if (geometry) process.stdout.write(geometryText(geometry));
  for (const { where, why, how } of again) process.stdout.write(`${where}: ${why}; ${how}\n`);
  if (recordPath !== undefined && again.length === 0) process.stdout.write('Nothing to photograph again by what the record says.\n');
  return 0;
}

function cameraFrom(args: Arguments): Camera | null {
  const sensor = args.number('sensor-mm', 0.1, 200);
  const focal = args.number('focal-mm', 0.1, 2000);
  const pixels = args.text('pixels');
  if (sensor === undefined && focal === undefined && pixels === undefined) return null;
  const size = /^(\d+)x(\d+)$/.exec(pixels ?? '');
  if (sensor === undefined || focal === undefined) throw new InputError(sensor === undefined ? '--sensor-mm' : '--focal-mm', 'is missing.');
  if (!size) throw new InputError('--pixels', `"${pixels ?? ''}" is not a size, expected for example 5472x3648.`);
  return { sensorWidth: sensor * MILLIMETRES, focalLength: focal * MILLIMETRES, imageWidth: Number(size[1]), imageHeight: Number(size[2]) };
}

function geometryFrom(args: Arguments, camera: Camera) {
  const wanted = args.number('gsd-cm', 0.01, 1000);
  const height = args.number('height-m', 0.5, 10_000) ?? (wanted === undefined ? undefined : heightForGroundSampleDistance(camera, wanted * CENTIMETRES));
  if (height === undefined) throw new InputError('--height-m', 'is missing; give a height or --gsd-cm.');
  const overlap = (name: string, standard: number) => (args.number(name, 0, 99) ?? standard) / 100;
  return { heightAboveRoof: height, ...flightGeometry(camera, height, overlap('forward', 80), overlap('side', 70)) };
}

function geometryText(geometry: ReturnType<typeof geometryFrom>): string {
  return (
    `height above the roof ${geometry.heightAboveRoof.toFixed(1)} m, ground sample distance ${(geometry.groundSampleDistance / CENTIMETRES).toFixed(2)} cm\n` +
    `one photo covers ${geometry.footprintWidth.toFixed(1)} × ${geometry.footprintHeight.toFixed(1)} m\n` +
    `a photo each ${geometry.exposureDistance.toFixed(1)} m, lines ${geometry.lineDistance.toFixed(1)} m apart\n` +
    `height from one pair of neighbouring photos: ±${(100 * 1.96 * geometry.pairHeightSigma).toFixed(1)} cm (95 %)\n`
  );
}

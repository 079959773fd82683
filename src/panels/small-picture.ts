import { InputError } from '../units/input-error.ts';
import type { FeaturePhoto } from '../roof/record.ts';

/** Longest side of a picture that goes into a record: enough to read a label on a drain. [px] */
const LONGEST_PX = 1024;
const QUALITY = 0.72;

/**
 * A picture small enough for a record, turned the right way up. Everything else in the file (place, time, device) is
 * left behind.
 *
 * @throws InputError when the browser cannot read the file as a picture.
 */
export async function smallPicture(file: File): Promise<Omit<FeaturePhoto, 'feature'>> {
  let bitmap: ImageBitmap;
  try {
    bitmap = await createImageBitmap(file);
  } catch {
    throw new InputError(file.name, 'cannot be read as a picture. Choose a JPEG, PNG or WebP file.');
  }
  const scale = Math.min(1, LONGEST_PX / Math.max(bitmap.width, bitmap.height));
  const [widthPx, heightPx] = [Math.max(1, Math.round(bitmap.width * scale)), Math.max(1, Math.round(bitmap.height * scale))];
  const canvas = document.createElement('canvas');
  canvas.width = widthPx;
  canvas.height = heightPx;
  canvas.getContext('2d')!.drawImage(bitmap, 0, 0, widthPx, heightPx);
  bitmap.close();
  return { name: file.name, widthPx, heightPx, picture: canvas.toDataURL('image/jpeg', QUALITY) };
}

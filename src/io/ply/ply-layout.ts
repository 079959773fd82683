import { InputError } from '../../units/input-error.ts';
import type { PlyElement, PlyHeader, PlyProperty } from './ply-header.ts';

/** Where the numbers of a vertex stand among its element's properties; -1 where there is none. */
export interface VertexLayout {
  readonly element: number;
  readonly position: readonly [number, number, number];
  readonly colour: readonly [number, number, number] | null;
  /** Multiplies a stored colour share to 0…255; null when only the numbers themselves can tell (stored as floats). */
  readonly colourFactor: number | null;
  readonly intensity: number;
  readonly intensityIsFloat: boolean;
  readonly classification: number;
}

export interface SurfaceLayout {
  readonly element: number;
  readonly list: string;
  readonly kind: 'faces' | 'strips';
}

const FACE_LISTS = ['vertex_indices', 'vertex_index'];

export function vertexLayout(header: PlyHeader, fileName: string): VertexLayout {
  const element = header.elements.findIndex((candidate) => candidate.name.toLowerCase() === 'vertex');
  if (element < 0) {
    const names = header.elements.map(({ name }) => name).join(', ') || 'none';
    throw new InputError(fileName, `elements of the PLY header: ${names}; expected an element "vertex".`);
  }
  const { properties } = header.elements[element]!;
  const find = (...names: string[]): number =>
    properties.findIndex(({ name, countType }) => countType === null && names.includes(name.toLowerCase()));
  const position = [find('x'), find('y'), find('z')] as const;
  const absent = ['x', 'y', 'z'].filter((_, axis) => position[axis]! < 0);
  if (absent.length > 0) throw new InputError(fileName, `element vertex has no property ${absent.join(', ')}; expected x, y and z.`);
  const colour = [find('red', 'r', 'diffuse_red'), find('green', 'g', 'diffuse_green'), find('blue', 'b', 'diffuse_blue')] as const;
  const hasColour = colour.every((index) => index >= 0);
  const intensity = find('intensity', 'scalar_intensity');
  return {
    element,
    position,
    colour: hasColour ? colour : null,
    colourFactor: hasColour ? colourFactor(properties[colour[0]]!) : null,
    intensity,
    intensityIsFloat: intensity >= 0 && isFloat(properties[intensity]!),
    classification: find('classification', 'scalar_classification', 'class'),
  };
}

/** The element whose lists make a surface; null for points alone. */
export function surfaceLayout(header: PlyHeader): SurfaceLayout | null {
  for (const [element, { name, count, properties }] of header.elements.entries()) {
    if (count === 0) continue;
    const list = properties.find((property) => property.countType !== null && FACE_LISTS.includes(property.name.toLowerCase()));
    if (list && /^faces?$/i.test(name)) return { element, list: list.name, kind: 'faces' };
    if (list && /^tristrips?$/i.test(name)) return { element, list: list.name, kind: 'strips' };
  }
  return null;
}

/** Elements nobody here has a use for. */
export function unusedElements(header: PlyHeader, used: readonly number[]): readonly PlyElement[] {
  return header.elements.filter(({ count }, index) => count > 0 && !used.includes(index));
}

const isFloat = ({ type }: PlyProperty): boolean => type === 'float32' || type === 'float64';

const colourFactor = (property: PlyProperty): number | null =>
  isFloat(property) ? null : property.type === 'uint16' || property.type === 'int16' ? 1 / 257 : 1;

import type { Mesh } from '../../cloud/mesh.ts';
import { GrowingArray } from '../growing-array.ts';
import type { ObjLine } from './obj-lines.ts';

const SLASH = 47;

/** Gathers where the triangles of an OBJ file lie on their pictures. */
export class PicturedFaces {
  private readonly places = new GrowingArray<Float32Array<ArrayBuffer>>(Float32Array);
  /** Place of each corner of each triangle, counted from 1; 0: none. */
  private readonly corners = new GrowingArray<Uint32Array<ArrayBuffer>>(Uint32Array);
  private readonly pictures = new GrowingArray<Uint16Array<ArrayBuffer>>(Uint16Array);

  /** Takes a `vt u v` line; v counts from the lower edge there, and from the upper one in a mesh. */
  addPlace({ tokens }: ObjLine): void {
    this.places.push(tokens.count > 1 ? tokens.number(1) : 0);
    this.places.push(1 - (tokens.count > 2 ? tokens.number(2) : 0));
  }

  /** Places of the corners of an `f` line, counted from 1; 0: none. */
  placesOf({ tokens }: ObjLine, into: number[]): void {
    const count = this.places.length / 2;
    for (let i = 1; i < tokens.count; i++) {
      const number = tokens.numberBehind(SLASH, i);
      const place = number < 0 ? count + number + 1 : number;
      into[i - 1] = Number.isInteger(place) && place > 0 ? place : 0;
    }
  }

  addTriangle(picture: number, a: number, b: number, c: number): void {
    for (const place of [a, b, c]) this.corners.push(place);
    this.pictures.push(picture);
  }

  /** A mesh with its pictures: a vertex with several places on them becomes as many. Triangles keep their order. */
  drape(mesh: Mesh, pictures: Mesh['pictures']): Mesh {
    const triangles = mesh.triangles.slice();
    const pictureOf = this.pictures.finish();
    const isPlain = [false, ...pictures.map((picture) => 'colour' in picture)];
    const split = new VertexPlaces(mesh.positions.length / 3, this.places.finish());
    for (let t = 0; t < pictureOf.length; t++) {
      const corners = this.corners.values.subarray(3 * t, 3 * t + 3);
      // A plain colour has no place on it.
      if (isPlain[pictureOf[t]!]) continue;
      if (!corners.every((place) => split.knows(place))) pictureOf[t] = 0;
      for (let k = 0; pictureOf[t]! > 0 && k < 3; k++) triangles[3 * t + k] = split.vertexAt(triangles[3 * t + k]!, corners[k]!);
    }
    return {
      positions: split.extended(mesh.positions, Float64Array),
      triangles,
      colours: mesh.colours && split.extended(mesh.colours, Uint8Array),
      textureCoordinates: split.coordinates(),
      pictures,
      pictureOf,
    };
  }
}

/** One place per vertex: further places of a vertex are new vertices behind the others, chained to it. */
class VertexPlaces {
  private readonly placeOf = new GrowingArray<Uint32Array<ArrayBuffer>>(Uint32Array);
  private readonly nextOf = new GrowingArray<Uint32Array<ArrayBuffer>>(Uint32Array);
  private readonly originals = new GrowingArray<Uint32Array<ArrayBuffer>>(Uint32Array);

  /** @param places  u, v of every place. */
  constructor(vertexCount: number, private readonly places: Float32Array) {
    for (const array of [this.placeOf, this.nextOf]) array.reserve(vertexCount);
    this.placeOf.length = this.nextOf.length = vertexCount;
  }

  knows(place: number): boolean {
    // NaN is no place either.
    return place > 0 && 2 * place <= this.places.length && Math.abs(this.places[2 * place - 2]!) + Math.abs(this.places[2 * place - 1]!) < Infinity;
  }

  /** The vertex that stands for another one at this place. */
  vertexAt(original: number, place: number): number {
    let vertex = original;
    while (this.placeOf.values[vertex] !== 0 && !this.isSame(this.placeOf.values[vertex]!, place)) {
      if (this.nextOf.values[vertex] === 0) {
        this.nextOf.values[vertex] = this.placeOf.length;
        this.placeOf.push(0);
        this.nextOf.push(0);
        this.originals.push(original);
      }
      vertex = this.nextOf.values[vertex]!;
    }
    this.placeOf.values[vertex] = place;
    return vertex;
  }

  /** Exporters often write a place of its own for every corner: what counts is where it is. */
  private isSame(a: number, b: number): boolean {
    return this.places[2 * a - 2] === this.places[2 * b - 2] && this.places[2 * a - 1] === this.places[2 * b - 1];
  }

  /** Three numbers a vertex, with those of the new vertices behind. */
  extended<Kind extends Float64Array | Uint8Array>(values: Kind, make: new (length: number) => Kind): Kind {
    const whole = new make(3 * this.placeOf.length);
    whole.set(values);
    for (let i = 0; i < this.originals.length; i++) {
      const from = 3 * this.originals.values[i]!;
      for (let k = 0; k < 3; k++) whole[values.length + 3 * i + k] = values[from + k]!;
    }
    return whole;
  }

  coordinates(): Float32Array {
    const found = new Float32Array(2 * this.placeOf.length);
    for (let vertex = 0; vertex < this.placeOf.length; vertex++) {
      const place = this.placeOf.values[vertex]!;
      if (place === 0) continue;
      found[2 * vertex] = this.places[2 * place - 2]!;
      found[2 * vertex + 1] = this.places[2 * place - 1]!;
    }
    return found;
  }
}

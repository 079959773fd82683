import type { Vector3 } from '../../geometry/vector.ts';

/** R12 (AC1009) for old programs, R2007 (AC1021) for text in UTF-8. */
export type DxfVersion = 'R12' | 'R2007';

/**
 * Gathers the tags of a DXF file: a group code line and a value line each. Handles, owners and subclass marks are
 * written for R2007 only, where they are required; R12 has none of them.
 */
export class DxfText {
  private readonly lines: string[] = [];
  private nextHandle = 0x100;

  constructor(readonly version: DxfVersion) {}

  get isModern(): boolean {
    return this.version === 'R2007';
  }

  tag(code: number, value: string | number): this {
    this.lines.push(String(code), String(value));
    return this;
  }

  /** Free text: control characters become spaces, and in R12 every character beyond ASCII is written as \U+XXXX. */
  text(code: number, value: string): this {
    // eslint-disable-next-line no-control-regex -- control characters are exactly what must go
    const flat = value.replace(/[\u0000-\u001f\u007f]+/g, ' ');
    return this.tag(code, this.isModern ? flat : escaped(flat));
  }

  /** A real number: always with a decimal point, to a micrometre. */
  real(code: number, value: number): this {
    return this.tag(code, realText(value));
  }

  /** Three coordinates under `code`, `code + 10` and `code + 20`. */
  position(code: number, [x, y, z]: Vector3): this {
    return this.real(code, x).real(code + 10, y).real(code + 20, z);
  }

  handle(): string {
    return (this.nextHandle++).toString(16).toUpperCase();
  }

  /** The handle the next object would get, for the header. */
  get handleSeed(): string {
    return this.nextHandle.toString(16).toUpperCase();
  }

  /** Starts an entity: type, handle, owner, layer. @returns Its handle. */
  entity(type: string, layer: string, owner: string, subclass: string): string {
    this.tag(0, type);
    const handle = this.handle();
    if (this.isModern) this.tag(5, handle).tag(330, owner).tag(100, 'AcDbEntity');
    this.tag(8, layer);
    if (this.isModern && subclass !== '') this.tag(100, subclass);
    return handle;
  }

  subclass(name: string): this {
    return this.isModern ? this.tag(100, name) : this;
  }

  append(other: DxfText): this {
    for (const line of other.lines) this.lines.push(line);
    return this;
  }

  /** A writer for a part that is put in place later; handles run on from here, and must be taken back with `resume`. */
  part(): DxfText {
    const part = new DxfText(this.version);
    part.nextHandle = this.nextHandle;
    return part;
  }

  resume(part: DxfText): void {
    this.nextHandle = part.nextHandle;
  }

  toString(): string {
    return `${this.lines.join('\r\n')}\r\n`;
  }
}

function realText(value: number): string {
  if (!Number.isFinite(value)) throw new RangeError(`A drawing can not hold the number ${value}.`);
  const text = value.toFixed(6).replace(/0+$/, '');
  const whole = text.endsWith('.') ? `${text}0` : text;
  return whole === '-0.0' ? '0.0' : whole;
}

function escaped(text: string): string {
  let out = '';
  for (let i = 0; i < text.length; i++) {
    const code = text.charCodeAt(i);
    out += code < 0x7f ? text[i] : `\\U+${code.toString(16).toUpperCase().padStart(4, '0')}`;
  }
  return out;
}

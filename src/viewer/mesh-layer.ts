import { BufferAttribute, BufferGeometry, DoubleSide, GLSL3, Group, Mesh, RepeatWrapping, ShaderMaterial, Texture, Vector3, type IUniform } from 'three';
import type { MeshPaint, MeshPicture, Mesh as SurveyMesh } from '../cloud/mesh.ts';
import { rgb } from './palettes.ts';
import type { Projection } from './projection.ts';

const VERTEX = /* glsl */ `
in vec3 colour;
out vec3 shade;
out vec2 place;
out vec3 world;
void main() {
  vec4 at = modelMatrix * vec4(position, 1.0);
  world = at.xyz;
  shade = colour;
  place = uv;
  gl_Position = projectionMatrix * viewMatrix * at;
}`;

/** What has no picture is shaded by the slope of its triangles, a little to one side so that no two slopes look alike. */
const FRAGMENT = /* glsl */ `
precision highp float;
in vec3 shade;
in vec2 place;
in vec3 world;
uniform sampler2D picture;
uniform int colouring;
uniform vec3 paper;
uniform vec3 own;
uniform vec3 clipMin;
uniform vec3 clipMax;
out vec4 result;
void main() {
  if (any(lessThan(world, clipMin)) || any(greaterThan(world, clipMax))) discard;
  vec3 normal = normalize(cross(dFdx(world), dFdy(world)));
  float light = 0.72 + 0.28 * abs(dot(normal, normalize(vec3(-0.35, -0.5, 0.8))));
  vec3 colour = colouring == 2 ? texture(picture, place).rgb : colouring == 1 ? shade : (colouring == 3 ? own : paper) * light;
  result = vec4(colour, 1.0);
}`;

/** How a mesh is coloured, as the shader counts it. */
const COLOURING = { paper: 0, vertex: 1, picture: 2, plain: 3 } as const;

/** A mesh as it is drawn: a material without picture, and one for each picture or plain colour. */
type Drawn = Mesh<BufferGeometry, ShaderMaterial[]>;

/** All pictures together get no more room than this, unpacked. [bytes] */
const PICTURE_ROOM = 128 * 2 ** 20;
const LARGEST_SIDE = 4096;
const BYTES_PER_PIXEL = 4;

/** Greatest side of each of so many pictures: a power of two, so that all of them keep within their room. [px] */
export function greatestSide(count: number): number {
  let side = LARGEST_SIDE;
  while (side > 1 && count * side * side * BYTES_PER_PIXEL > PICTURE_ROOM) side /= 2;
  return side;
}

/** Uniforms that hold the box nothing is drawn outside of; shared with the points. */
export interface ClipUniforms {
  readonly clipMin: IUniform<Vector3>;
  readonly clipMax: IUniform<Vector3>;
}

/** Triangle meshes as they were read, in their own colours. They are looked at; what is measured are the points laid on them. */
export class MeshLayer {
  readonly group = new Group();

  /** @param changed  A picture has arrived, which takes a while to unpack. */
  constructor(private readonly clip: ClipUniforms, private readonly changed: () => void) {}

  get isEmpty(): boolean {
    return this.group.children.length === 0;
  }

  setMeshes(meshes: readonly SurveyMesh[]): void {
    for (const { geometry, material } of this.drawn) {
      geometry.dispose();
      for (const one of material) {
        (one.uniforms['picture']!.value as Texture | null)?.dispose();
        one.dispose();
      }
    }
    this.group.clear();
    const side = greatestSide(meshes.reduce((sum, { pictures }) => sum + pictures.filter(isPicture).length, 0));
    for (const mesh of meshes) {
      const drawn = this.drawable(mesh);
      this.group.add(drawn);
      void this.unpackAll(mesh.pictures, drawn, side);
    }
  }

  private get drawn(): readonly Drawn[] {
    return this.group.children as Drawn[];
  }

  /**
   * @param light, dark  What has no colour of its own is halfway between these, `#rrggbb`.
   * @param behindM  Drawn this far behind where it is, so that its points are not half hidden. [m]
   */
  prepare(view: Projection, light: string, dark: string, behindM: number): void {
    const [a, b] = [rgb(light), rgb(dark)];
    this.group.position.set(...view.toward).multiplyScalar(-behindM);
    for (const { uniforms } of this.drawn.flatMap(({ material }) => material)) uniforms['paper']!.value.set((a[0] + b[0]) / 2, (a[1] + b[1]) / 2, (a[2] + b[2]) / 2);
  }

  private drawable(mesh: SurveyMesh): Drawn {
    const materials = [null, ...mesh.pictures].map((paint) => this.material(mesh.colours ? COLOURING.vertex : paint && !isPicture(paint) ? COLOURING.plain : COLOURING.paper, paint));
    const { geometry, origin } = geometryOf(mesh);
    const drawn = new Mesh(geometry, materials);
    drawn.position.set(...origin);
    drawn.frustumCulled = false;
    return drawn;
  }

  private material(colouring: number, paint: MeshPaint | null): ShaderMaterial {
    const own = paint && !isPicture(paint) ? new Vector3(...paint.colour).divideScalar(255) : new Vector3();
    return new ShaderMaterial({
      glslVersion: GLSL3,
      vertexShader: VERTEX,
      fragmentShader: FRAGMENT,
      side: DoubleSide,
      uniforms: { picture: { value: null }, colouring: { value: colouring }, paper: { value: new Vector3() }, own: { value: own }, clipMin: this.clip.clipMin, clipMax: this.clip.clipMax },
    });
  }

  /** One after the other, so that only one is unpacked in full size; one the browser cannot read leaves its triangles as they are without. */
  private async unpackAll(pictures: readonly MeshPaint[], drawn: Drawn, side: number): Promise<void> {
    for (const [index, picture] of pictures.entries()) {
      const image = isPicture(picture) ? await unpacked(picture, side).catch(() => null) : null;
      if (!image) continue;
      if (drawn.parent === null) return image.close();
      const texture = new Texture(image);
      // Coordinates count from the upper left corner, as the rows of a picture do.
      texture.flipY = false;
      // Coordinates beyond the picture start it again where no sampler says otherwise (glTF 2.0, 5.26).
      texture.wrapS = texture.wrapT = RepeatWrapping;
      texture.needsUpdate = true;
      const { uniforms } = drawn.material[index + 1]!;
      uniforms['picture']!.value = texture;
      uniforms['colouring']!.value = COLOURING.picture;
      this.changed();
    }
  }
}

const isPicture = (paint: MeshPaint): paint is MeshPicture => 'bytes' in paint;

/** @param side  A picture with a longer one is made smaller. [px] */
async function unpacked({ bytes, mimeType }: MeshPicture, side: number): Promise<ImageBitmap> {
  const whole = await createImageBitmap(new Blob([bytes.slice()], { type: mimeType }));
  const scale = side / Math.max(whole.width, whole.height);
  if (scale >= 1) return whole;
  try {
    return await createImageBitmap(whole, { resizeWidth: Math.max(1, Math.round(whole.width * scale)), resizeHeight: Math.max(1, Math.round(whole.height * scale)), resizeQuality: 'medium' });
  } finally {
    whole.close();
  }
}

/** Corners of triangles ordered by their pictures, those without first. Groups of the geometry name the material of each. */
function groupByPicture(geometry: BufferGeometry, { triangles, pictures, pictureOf }: SurveyMesh): Uint32Array {
  const starts = new Uint32Array(pictures.length + 2);
  if (!pictureOf) {
    geometry.addGroup(0, triangles.length, 0);
    return triangles;
  }
  for (const number of pictureOf) starts[number + 1]!++;
  for (let number = 0; number <= pictures.length; number++) starts[number + 1]! += starts[number]!;
  for (let number = 0; number <= pictures.length; number++) {
    if (starts[number + 1]! > starts[number]!) geometry.addGroup(3 * starts[number]!, 3 * (starts[number + 1]! - starts[number]!), number);
  }
  const ordered = new Uint32Array(triangles.length);
  for (let t = 0; t < pictureOf.length; t++) {
    const to = 3 * starts[pictureOf[t]!]!++;
    for (let corner = 0; corner < 3; corner++) ordered[to + corner] = triangles[3 * t + corner]!;
  }
  return ordered;
}

/** Vertices counted from the mesh's own corner, so that single precision is enough. */
function geometryOf(mesh: SurveyMesh): { geometry: BufferGeometry; origin: [number, number, number] } {
  const { positions, colours, textureCoordinates } = mesh;
  const origin: [number, number, number] = [positions[0] ?? 0, positions[1] ?? 0, positions[2] ?? 0];
  const vertices = new Float32Array(positions.length);
  for (let i = 0; i < positions.length; i++) vertices[i] = positions[i]! - origin[i % 3]!;
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(vertices, 3));
  geometry.setAttribute('colour', new BufferAttribute(colours ?? new Uint8Array(positions.length), 3, true));
  geometry.setAttribute('uv', new BufferAttribute(textureCoordinates ?? new Float32Array((2 * positions.length) / 3), 2));
  geometry.setIndex(new BufferAttribute(groupByPicture(geometry, mesh), 1));
  return { geometry, origin };
}

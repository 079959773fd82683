import { BufferAttribute, BufferGeometry, DoubleSide, GLSL3, Group, Mesh, RepeatWrapping, ShaderMaterial, Texture, Vector3, type IUniform } from 'three';
import type { Mesh as SurveyMesh } from '../cloud/mesh.ts';
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
uniform vec3 clipMin;
uniform vec3 clipMax;
out vec4 result;
void main() {
  if (any(lessThan(world, clipMin)) || any(greaterThan(world, clipMax))) discard;
  vec3 normal = normalize(cross(dFdx(world), dFdy(world)));
  float light = 0.72 + 0.28 * abs(dot(normal, normalize(vec3(-0.35, -0.5, 0.8))));
  vec3 colour = colouring == 2 ? texture(picture, place).rgb : colouring == 1 ? shade : paper * light;
  result = vec4(colour, 1.0);
}`;

/** How a mesh is coloured, as the shader counts it. */
const COLOURING = { paper: 0, vertex: 1, picture: 2 } as const;

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
    for (const child of this.group.children as Mesh<BufferGeometry, ShaderMaterial>[]) {
      child.geometry.dispose();
      (child.material.uniforms['picture']!.value as Texture | null)?.dispose();
      child.material.dispose();
    }
    this.group.clear();
    for (const mesh of meshes) this.group.add(this.drawable(mesh));
  }

  /**
   * @param light, dark  What has no colour of its own is halfway between these, `#rrggbb`.
   * @param behindM  Drawn this far behind where it is, so that its points are not half hidden. [m]
   */
  prepare(view: Projection, light: string, dark: string, behindM: number): void {
    const [a, b] = [rgb(light), rgb(dark)];
    this.group.position.set(...view.toward).multiplyScalar(-behindM);
    for (const { material } of this.group.children as Mesh<BufferGeometry, ShaderMaterial>[]) material.uniforms['paper']!.value.set((a[0] + b[0]) / 2, (a[1] + b[1]) / 2, (a[2] + b[2]) / 2);
  }

  private drawable(mesh: SurveyMesh): Mesh {
    const material = this.material();
    if (mesh.colours) material.uniforms['colouring']!.value = COLOURING.vertex;
    if (mesh.texture && mesh.textureCoordinates) void this.unpack(mesh.texture, material);
    const { geometry, origin } = geometryOf(mesh);
    const drawn = new Mesh(geometry, material);
    drawn.position.set(...origin);
    drawn.frustumCulled = false;
    return drawn;
  }

  private material(): ShaderMaterial {
    return new ShaderMaterial({
      glslVersion: GLSL3,
      vertexShader: VERTEX,
      fragmentShader: FRAGMENT,
      side: DoubleSide,
      uniforms: { picture: { value: null }, colouring: { value: COLOURING.paper }, paper: { value: new Vector3() }, clipMin: this.clip.clipMin, clipMax: this.clip.clipMax },
    });
  }

  /** A picture the browser cannot read leaves the mesh in the colours it has without. */
  private async unpack({ bytes, mimeType }: NonNullable<SurveyMesh['texture']>, material: ShaderMaterial): Promise<void> {
    try {
      const image = await createImageBitmap(new Blob([bytes.slice()], { type: mimeType }));
      const texture = new Texture(image);
      // Texture coordinates of glTF count from the upper left corner, as the rows of a picture do.
      texture.flipY = false;
      // Coordinates beyond the picture start it again where no sampler says otherwise (glTF 2.0, 5.26).
      texture.wrapS = texture.wrapT = RepeatWrapping;
      texture.needsUpdate = true;
      material.uniforms['picture']!.value = texture;
      material.uniforms['colouring']!.value = COLOURING.picture;
      this.changed();
    } catch {
      return;
    }
  }
}

/** Vertices counted from the mesh's own corner, so that single precision is enough. */
function geometryOf(mesh: SurveyMesh): { geometry: BufferGeometry; origin: [number, number, number] } {
  const { positions, triangles, colours, textureCoordinates } = mesh;
  const origin: [number, number, number] = [positions[0] ?? 0, positions[1] ?? 0, positions[2] ?? 0];
  const vertices = new Float32Array(positions.length);
  for (let i = 0; i < positions.length; i++) vertices[i] = positions[i]! - origin[i % 3]!;
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(vertices, 3));
  geometry.setAttribute('colour', new BufferAttribute(colours ?? new Uint8Array(positions.length), 3, true));
  geometry.setAttribute('uv', new BufferAttribute(textureCoordinates ?? new Float32Array((2 * positions.length) / 3), 2));
  geometry.setIndex(new BufferAttribute(triangles, 1));
  return { geometry, origin };
}

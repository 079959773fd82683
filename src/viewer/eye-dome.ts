import { DepthTexture, GLSL3, Mesh, NearestFilter, NormalBlending, OrthographicCamera, PlaneGeometry, Scene, ShaderMaterial, UnsignedIntType, Vector2, WebGLRenderTarget, type Camera, type WebGLRenderer } from 'three';

/** How the shade of one picture is made. */
export interface EyeDomeLook {
  /** Pairs of neighbours that are asked, 1 to 4: fewer cost less. */
  readonly pairs: number;
  /** How far the neighbours stand from a pixel. [px] */
  readonly reach: number;
  /** Steps in depth up to this are none: points are drawn as flat discs that stand before and behind each other. [m] */
  readonly tolerance: number;
  /** Of the picture, in pixels of the screen. */
  readonly metresPerPixel: number;
  /** Depth the whole depth buffer spans. [m] */
  readonly depthRange: number;
}

const VERTEX = /* glsl */ `
void main() { gl_Position = vec4(position.xy, 0.0, 1.0); }`;

/**
 * Of each pair of opposite neighbours the mean depth is taken: on an even slope it is the pixel's own, so that a slope is
 * not darkened for being one; behind an edge and in a fold it is less, and the pixel gets darker.
 */
const FRAGMENT = /* glsl */ `
precision highp float;
precision highp sampler2D;
uniform sampler2D colours;
uniform sampler2D depths;
uniform vec2 texel;
uniform int pairs;
uniform float reach;
uniform float tolerance;
uniform float metresPerPixel;
uniform float depthRange;
out vec4 result;

const vec2 WAYS[4] = vec2[4](vec2(1.0, 0.0), vec2(0.0, 1.0), vec2(0.7071, 0.7071), vec2(0.7071, -0.7071));
const float STRENGTH = 0.75;

void main() {
  vec2 at = gl_FragCoord.xy * texel;
  vec4 colour = texture(colours, at);
  if (colour.a == 0.0) { result = colour; return; }
  float depth = texture(depths, at).r;
  float sum = 0.0;
  for (int i = 0; i < 4; i++) {
    if (i >= pairs) break;
    vec2 step = WAYS[i] * reach * texel;
    float mean = 0.5 * (texture(depths, at + step).r + texture(depths, at - step).r);
    sum += clamp(((depth - mean) * depthRange - tolerance) / (reach * metresPerPixel), 0.0, 2.0);
  }
  result = vec4(colour.rgb * exp(-STRENGTH * sum / float(pairs)), colour.a);
}`;

/**
 * Shades a picture by its depths alone, so that points without normals show their shape: eye-dome lighting after
 * C. Boucheny, "Visualisation scientifique interactive de grands volumes de données", thesis, Université Joseph Fourier,
 * Grenoble 2009, chapter 4, for parallel lines of sight, where depth is even and no logarithm is needed.
 */
export class EyeDome {
  private readonly target: WebGLRenderTarget;
  private readonly material: ShaderMaterial;
  private readonly scene = new Scene();
  private readonly camera = new OrthographicCamera();

  constructor() {
    this.target = new WebGLRenderTarget(1, 1, { minFilter: NearestFilter, magFilter: NearestFilter, depthTexture: new DepthTexture(1, 1, UnsignedIntType) });
    this.material = new ShaderMaterial({
      glslVersion: GLSL3,
      vertexShader: VERTEX,
      fragmentShader: FRAGMENT,
      // Laid over what is there already: paper that lies behind points is never shaded itself.
      blending: NormalBlending,
      transparent: true,
      premultipliedAlpha: true,
      depthTest: false,
      depthWrite: false,
      uniforms: {
        colours: { value: this.target.texture }, depths: { value: this.target.depthTexture }, texel: { value: new Vector2() },
        pairs: { value: 4 }, reach: { value: 1 }, tolerance: { value: 0 }, metresPerPixel: { value: 1 }, depthRange: { value: 1 },
      },
    });
    const sheet = this.sample();
    sheet.frustumCulled = false;
    this.scene.add(sheet);
  }

  /** For compiling ahead. */
  sample(): Mesh {
    return new Mesh(new PlaneGeometry(2, 2), this.material);
  }

  /** Draws a scene shaded over the picture as it is. */
  render(renderer: WebGLRenderer, scene: Scene, camera: Camera, look: EyeDomeLook): void {
    const { uniforms } = this.material;
    const size = renderer.getDrawingBufferSize(new Vector2());
    if (this.target.width !== size.x || this.target.height !== size.y) this.target.setSize(size.x, size.y);
    uniforms['texel']!.value.set(1 / size.x, 1 / size.y);
    for (const name of ['pairs', 'reach', 'tolerance', 'metresPerPixel', 'depthRange'] as const) uniforms[name]!.value = look[name];
    renderer.setRenderTarget(this.target);
    renderer.render(scene, camera);
    renderer.setRenderTarget(null);
    renderer.autoClear = false;
    renderer.render(this.scene, this.camera);
    renderer.autoClear = true;
  }

  dispose(): void {
    this.target.dispose();
    this.material.dispose();
  }
}

import { dot, type Vector3 } from '../geometry/vector.ts';
import type { Projection } from './projection.ts';
import type { RoofScene, SceneEdge } from './scene.ts';

type Axes = Pick<Projection, 'right' | 'up' | 'toward'>;

/** A flat thing that can stand in front of a line, turned into picture directions. [m] */
interface Occluder {
  readonly ring: readonly (readonly [number, number])[];
  readonly minX: number;
  readonly maxX: number;
  readonly minY: number;
  readonly maxY: number;
  /** Height towards the eye is a + b x + c y. */
  readonly a: number;
  readonly b: number;
  readonly c: number;
}

/** A line stays in sight until something stands this far in front of it: roof thickness and fit, not a wall. [m] */
const CLEARANCE_M = 0.2;

/** Side of the squares occluders are sorted into: a few to a roof plane. [m] */
const BIN_M = 2;
/** A site is at most this many squares wide. */
const BIN_SPAN = 1 << 20;

const binKey = (x: number, y: number): number => (x + BIN_SPAN / 2) * BIN_SPAN + y + BIN_SPAN / 2;
const binOf = (x: number, y: number): number => binKey(Math.floor(x / BIN_M), Math.floor(y / BIN_M));

/**
 * Says which parts of a line the eye can see past roofs, walls and things. Depends on direction, not on zoom. Works only
 * as long as a frame allows: until everything is known, lines that were not looked at yet pass as seen.
 */
export class HiddenLines {
  /** Occluders by squares of the picture, so that a place asks only those over it. */
  private readonly bins = new Map<number, Occluder[]>();
  /** Visible parts of lines asked before, by their first end. */
  private readonly known = new Map<Vector3, Map<Vector3, [number, number][]>>();
  private readonly faces: readonly (readonly Vector3[])[];
  private facesTaken = 0;
  /** Time left for work in this frame. [ms] */
  private left = Infinity;
  private waits = false;

  constructor(private readonly axes: Axes, scene: RoofScene) {
    this.faces = facesOf(scene);
  }

  /** @param budget  Work of this frame may take so long, what is drawn in between not counted. [ms] */
  beginFrame(budget: number): void {
    this.left = budget;
    this.waits = false;
    while (this.facesTaken < this.faces.length && this.left > 0) {
      const start = performance.now();
      // A handful at a time, so that the clock is not asked more than it is worth.
      for (let i = 0; i < 8 && this.facesTaken < this.faces.length; i++) this.add(this.faces[this.facesTaken++]!);
      this.left -= performance.now() - start;
    }
  }

  /** Whether something was asked in this frame that is not known yet. */
  get isUnfinished(): boolean {
    return this.waits;
  }

  isVisible(point: Vector3): boolean {
    if (!this.isReady()) return true;
    const { right, up, toward } = this.axes;
    const [x, y, z] = [dot(point, right), dot(point, up), dot(point, toward)];
    return !(this.bins.get(binOf(x, y)) ?? []).some((o) => x >= o.minX && x <= o.maxX && y >= o.minY && y <= o.maxY && o.a + o.b * x + o.c * y > z + CLEARANCE_M && inRing(o.ring, x, y));
  }

  /** Visible parts of a segment, as shares of its length. */
  visibleRuns(from: Vector3, to: Vector3): readonly [number, number][] {
    const before = this.known.get(from)?.get(to);
    if (before) return before;
    if (!this.isReady() || this.left <= 0) {
      this.waits = true;
      return [[0, 1]];
    }
    const asked = this.known.get(from) ?? new Map<Vector3, [number, number][]>();
    const start = performance.now();
    const runs = this.findRuns(from, to);
    this.left -= performance.now() - start;
    asked.set(to, runs);
    this.known.set(from, asked);
    return runs;
  }

  private isReady(): boolean {
    if (this.left === Infinity) this.beginFrame(Infinity);
    const ready = this.facesTaken === this.faces.length;
    this.waits ||= !ready;
    return ready;
  }

  private findRuns(from: Vector3, to: Vector3): [number, number][] {
    const size = Math.hypot(to[0] - from[0], to[1] - from[1], to[2] - from[2]);
    const count = Math.min(40, Math.max(6, Math.ceil(size / 0.4)));
    const runs: [number, number][] = [];
    for (let i = 0; i < count; i++) {
      const share = (i + 0.5) / count;
      const middle: Vector3 = [from[0] + (to[0] - from[0]) * share, from[1] + (to[1] - from[1]) * share, from[2] + (to[2] - from[2]) * share];
      if (!this.isVisible(middle)) continue;
      const last = runs.at(-1);
      if (last && last[1] >= i / count - 1e-9) last[1] = (i + 1) / count;
      else runs.push([i / count, (i + 1) / count]);
    }
    return runs;
  }

  private add(corners: readonly Vector3[]): void {
    const { right, up, toward } = this.axes;
    const turned = corners.map((p) => [dot(p, right), dot(p, up), dot(p, toward)] as const);
    const slopes = depthSlopes(turned);
    if (!slopes) return;
    const [x0, y0, z0] = turned[0]!;
    const [b, c] = slopes;
    const xs = turned.map(([x]) => x);
    const ys = turned.map(([, y]) => y);
    const occluder: Occluder = {
      ring: turned.map(([x, y]) => [x, y] as const),
      minX: Math.min(...xs), maxX: Math.max(...xs), minY: Math.min(...ys), maxY: Math.max(...ys),
      a: z0 - b * x0 - c * y0, b, c,
    };
    for (let x = Math.floor(occluder.minX / BIN_M); x <= occluder.maxX / BIN_M; x++) {
      for (let y = Math.floor(occluder.minY / BIN_M); y <= occluder.maxY / BIN_M; y++) {
        const key = binKey(x, y);
        const list = this.bins.get(key);
        if (list) list.push(occluder);
        else this.bins.set(key, [occluder]);
      }
    }
  }
}

/** Everything that can stand in front of a line. */
function facesOf(scene: RoofScene): Vector3[][] {
  const sides = scene.things.flatMap(({ base, top }) => top.map((corner, i) => {
    const j = (i + 1) % top.length;
    return [corner, top[j]!, base[j]!, base[i]!];
  }));
  return [...scene.planes.map(({ plane }) => [...plane.outline]), ...scene.things.map(({ top }) => [...top]), ...sides, ...wallsOf(scene).map((wall) => [...wall])];
}

/** Walls under the free edges of roofs, down to the ground. */
export function wallsOf(scene: RoofScene): readonly Vector3[][] {
  const known = wallsOfScene.get(scene);
  if (known) return known;
  const walls = makeWalls(scene);
  wallsOfScene.set(scene, walls);
  return walls;
}

/** Made once for a scene, so that lines of walls are known again from frame to frame. */
const wallsOfScene = new WeakMap<RoofScene, readonly Vector3[][]>();

const makeWalls = (scene: RoofScene): Vector3[][] => scene.edges.flatMap((edge) => wallUnder(scene, edge));

/** The wall under a free edge; none under an edge of two planes. */
export function wallUnder({ buildings }: RoofScene, { planes, building, from, to }: SceneEdge): Vector3[][] {
  const ground = planes.length < 2 ? buildings.find(({ id }) => id === building) : undefined;
  return ground ? [[from, to, [to[0], to[1], ground.groundM], [from[0], from[1], ground.groundM]]] : [];
}

/** Slopes of depth over the picture by Newell's normal; null for a surface seen edge on. */
function depthSlopes(turned: readonly (readonly [number, number, number])[]): [number, number] | null {
  let [nx, ny, nz] = [0, 0, 0];
  turned.forEach(([ax, ay, az], i) => {
    const [bx, by, bz] = turned[(i + 1) % turned.length]!;
    nx += (ay - by) * (az + bz);
    ny += (az - bz) * (ax + bx);
    nz += (ax - bx) * (ay + by);
  });
  const size = Math.hypot(nx, ny, nz);
  return size > 1e-9 && Math.abs(nz) / size > 0.02 ? [-nx / nz, -ny / nz] : null;
}

function inRing(ring: readonly (readonly [number, number])[], x: number, y: number): boolean {
  let inside = false;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
    const [xi, yi] = ring[i]!;
    const [xj, yj] = ring[j]!;
    if (yi > y !== yj > y && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) inside = !inside;
  }
  return inside;
}

import type { P2, P3 } from './points.ts';
import type { Random } from './random.ts';
import { addPrism, surface, type Model, type Paint } from './surface.ts';

export function addGround(model: Model, min: P2, max: P2, z: number, paint: Paint): void {
  model.surfaces.push(surface([[min[0], min[1], z], [max[0], min[1], z], [max[0], max[1], z], [min[0], max[1], z]], paint));
}

/** A crown of rough patches on a trunk. */
export function addTree(model: Model, random: Random, at: P2, groundZ: number, height: number, radius: number): void {
  const centre = groundZ + height - radius * 1.1;
  const belts = 5;
  const sectors = 7;
  const corner = (belt: number, sector: number): P3 => {
    const up = Math.PI * (belt / belts - 0.5);
    const bearing = (2 * Math.PI * sector) / sectors;
    return [at[0] + radius * Math.cos(up) * Math.cos(bearing), at[1] + radius * Math.cos(up) * Math.sin(bearing), centre + 1.1 * radius * Math.sin(up)];
  };
  for (let belt = 0; belt < belts; belt++) {
    for (let sector = 0; sector < sectors; sector++) {
      const ring = [corner(belt, sector), corner(belt, sector + 1), corner(belt + 1, sector + 1), corner(belt + 1, sector)];
      // At the poles two corners fall together.
      const solid = ring.filter((p, i) => Math.hypot(...p.map((c, k) => c - ring[(i + 1) % 4]![k]!)) > 1e-6);
      model.surfaces.push(surface(solid, 'leaf', { keep: random.between(0.3, 0.7), extraSigma: 0.12 * radius }));
    }
  }
  const t = 0.15;
  addPrism(model, [[at[0] - t, at[1] - t, groundZ], [at[0] + t, at[1] - t, groundZ], [at[0] + t, at[1] + t, groundZ], [at[0] - t, at[1] + t, groundZ]], centre, 'timber');
}

export function addVan(model: Model, at: P2, turn: number, groundZ: number, paint: Paint): void {
  const box = (x0: number, x1: number, halfWidth: number, bottom: number): P3[] =>
    ([[x0, -halfWidth], [x1, -halfWidth], [x1, halfWidth], [x0, halfWidth]] as P2[]).map(([x, y]) => [
      at[0] + x * Math.cos(turn) - y * Math.sin(turn), at[1] + x * Math.sin(turn) + y * Math.cos(turn), groundZ + bottom,
    ]);
  addPrism(model, box(-2.4, 1.4, 0.95, 0.2), groundZ + 2.1, paint);
  addPrism(model, box(1.4, 2.5, 0.95, 0.2), groundZ + 1.1, paint);
}

/** Faces of real scenes with trimmed orthogonal least squares of hand-chosen windows as reference: not a second survey. */
export interface ReferenceScene {
  readonly set: string;
  readonly source: string;
  readonly files: readonly string[];
  readonly faces: readonly {
    readonly name: string;
    /** Corners in source coordinates. [m] */
    readonly window: readonly (readonly [number, number])[];
    readonly pitchDeg: number;
    /** From grid north. */
    readonly azimuthDeg: number | null;
  }[];
  readonly ridges: readonly { readonly name: string; readonly near: readonly [number, number]; readonly elevationM: number }[];
}

const IGN = (tile: string) => `test_data_${tile}_LA93_IGN69.laz`;

export const REFERENCE_SCENES: readonly ReferenceScene[] = [
  {
    set: 'ign-770500',
    source: 'windows on the points of IGN, MIT licence; same window 0.05°, another sensible window 0.4°',
    files: ['77050_627755', '77050_627760', '77055_627755', '77055_627760', '77060_627755', '77060_627760'].map(IGN),
    faces: [
      { name: 'gE-SE', pitchDeg: 20.67, azimuthDeg: 132.6, window: [[770631.44, 6277551.64], [770634.09, 6277549.2], [770642.2, 6277558.05], [770639.54, 6277560.48]] },
      { name: 'gE-NW', pitchDeg: 20.22, azimuthDeg: 312.6, window: [[770638.36, 6277561.56], [770635.71, 6277564], [770627.6, 6277555.15], [770630.26, 6277552.72]] },
      { name: 'row2-SW', pitchDeg: 19.31, azimuthDeg: 221.8, window: [[770565.62, 6277569.64], [770563.08, 6277566.8], [770579.48, 6277552.14], [770582.02, 6277554.97]] },
      { name: 'row2-NE', pitchDeg: 19.58, azimuthDeg: 42.4, window: [[770583.08, 6277556.16], [770585.62, 6277559], [770569.22, 6277573.66], [770566.68, 6277570.83]] },
      { name: 'flatS', pitchDeg: 0.11, azimuthDeg: null, window: [[770556, 6277510], [770562, 6277507], [770566, 6277514], [770560, 6277517]] },
    ],
    ridges: [
      { name: 'gE', near: [770634.9, 6277556.6], elevationM: 28.35 },
      { name: 'row2', near: [770574.4, 6277562.8], elevationM: 28.78 },
    ],
  },
  {
    set: 'swiss-hall',
    source: 'windows on the points, BSD licence',
    files: ['*.las'],
    faces: [
      { name: 'A', pitchDeg: 5.07, azimuthDeg: 114.3, window: [[674561.64, 1206759.48], [674583.56, 1206749.72], [674595.76, 1206777.12], [674573.84, 1206786.88]] },
      { name: 'B', pitchDeg: 11.4, azimuthDeg: 292.7, window: [[674566.58, 1206791.19], [674559.2, 1206794.28], [674547.62, 1206766.61], [674555, 1206763.52]] },
    ],
    ridges: [{ name: 'hall', near: [674566, 1206778], elevationM: 656.14 }],
  },
];

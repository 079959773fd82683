declare const unit: unique symbol;

/** A number that knows its unit at compile time; costs nothing at run time. */
export type Quantity<Unit extends string> = number & { readonly [unit]: Unit };

export type Metres = Quantity<'m'>;
export type SquareMetres = Quantity<'m2'>;
export type Radians = Quantity<'rad'>;
export type Degrees = Quantity<'deg'>;

export const metres = (value: number): Metres => value as Metres;
export const squareMetres = (value: number): SquareMetres => value as SquareMetres;
export const radians = (value: number): Radians => value as Radians;
export const degrees = (value: number): Degrees => value as Degrees;

const DEGREES_PER_RADIAN = 180 / Math.PI;

export const toDegrees = (angle: Radians): Degrees => degrees(angle * DEGREES_PER_RADIAN);
export const toRadians = (angle: Degrees): Radians => radians(angle / DEGREES_PER_RADIAN);

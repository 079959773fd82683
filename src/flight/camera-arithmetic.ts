/** A camera looking straight down. */
export interface Camera {
  /** Width of the sensor along the image rows. [m] */
  readonly sensorWidth: number;
  readonly focalLength: number;
  readonly imageWidth: number;
  readonly imageHeight: number;
}

/** Ground size of one pixel: height × sensor width / (focal length × pixels); similar triangles. [m] */
export const groundSampleDistance = (camera: Camera, heightAboveRoof: number): number =>
  (heightAboveRoof * camera.sensorWidth) / (camera.focalLength * camera.imageWidth);

/** Height above the roof that gives a ground sample distance. [m] */
export const heightForGroundSampleDistance = (camera: Camera, wanted: number): number =>
  (wanted * camera.focalLength * camera.imageWidth) / camera.sensorWidth;

export interface FlightGeometry {
  readonly groundSampleDistance: number;
  /** Ground covered by one image. [m] */
  readonly footprintWidth: number;
  readonly footprintHeight: number;
  /** Distance between exposures along a line, and between lines. [m] */
  readonly exposureDistance: number;
  readonly lineDistance: number;
  /**
   * One sigma of a height from one pair of neighbouring images: matching sigma × GSD × height / base
   * (normal case of photogrammetry). [m]
   */
  readonly pairHeightSigma: number;
}

/** Matching of natural texture, in pixels. Common practice, no source. */
const MATCHING_SIGMA_PIXELS = 0.5;

/**
 * @param forwardOverlap  Share of an image that the next one sees again, 0 to below 1. @param sideOverlap  The same between lines.
 * @throws RangeError for an overlap outside 0 to 1.
 */
export function flightGeometry(camera: Camera, heightAboveRoof: number, forwardOverlap: number, sideOverlap: number): FlightGeometry {
  for (const overlap of [forwardOverlap, sideOverlap]) {
    if (!(overlap >= 0 && overlap < 1)) throw new RangeError(`Expected an overlap from 0 to below 1, got ${overlap}.`);
  }
  const gsd = groundSampleDistance(camera, heightAboveRoof);
  const footprintWidth = gsd * camera.imageWidth;
  const footprintHeight = gsd * camera.imageHeight;
  const exposureDistance = footprintHeight * (1 - forwardOverlap);
  return {
    groundSampleDistance: gsd,
    footprintWidth,
    footprintHeight,
    exposureDistance,
    lineDistance: footprintWidth * (1 - sideOverlap),
    pairHeightSigma: (MATCHING_SIGMA_PIXELS * gsd * heightAboveRoof) / exposureDistance,
  };
}

import type { RoofRecord } from '../roof/record.ts';
import { drawingPlace } from './drawing-place.ts';
import { crsOf, type DrawingUnit, type HandoverOptions } from './handover-kind.ts';
import { NO_DATE, recordDate } from './record-date.ts';
import { triangleSurfaces } from './surfaces.ts';
import { escapeXml } from './xml-text.ts';

const LINEAR: Readonly<Record<DrawingUnit, string>> = {
  m: '<Metric linearUnit="meter" areaUnit="squareMeter" volumeUnit="cubicMeter" temperatureUnit="celsius" pressureUnit="HPA" angularUnit="decimal degrees" directionUnit="decimal degrees"/>',
  ft: '<Imperial linearUnit="foot" areaUnit="squareFoot" volumeUnit="cubicFeet" temperatureUnit="fahrenheit" pressureUnit="inHG" angularUnit="decimal degrees" directionUnit="decimal degrees"/>',
  'us-ft': '<Imperial linearUnit="USSurveyFoot" areaUnit="squareFoot" volumeUnit="cubicFeet" temperatureUnit="fahrenheit" pressureUnit="inHG" angularUnit="decimal degrees" directionUnit="decimal degrees"/>',
};

/** LandXML 1.2: each roof plane as a triangulated surface. Points are northing, easting, elevation, as the format orders them. */
export function writeLandXml(record: RoofRecord, options: HandoverOptions = {}): string {
  const { place, unit, statement } = drawingPlace(record, options);
  const date = (recordDate(record) ?? NO_DATE).toISOString();
  const epsg = options.origin === 'grid' ? /^EPSG:(\d+)$/.exec(crsOf(record, options) ?? '')?.[1] : undefined;
  const lines = [
    '<?xml version="1.0" encoding="UTF-8"?>',
    `<LandXML xmlns="http://www.landxml.org/schema/LandXML-1.2" version="1.2" date="${date.slice(0, 10)}" time="${date.slice(11, 19)}" language="English" readOnly="false">`,
    `<Units>${LINEAR[unit]}</Units>`,
    `<CoordinateSystem ${epsg === undefined ? '' : `epsgCode="${epsg}" `}desc="${escapeXml(statement.join(' '))}"/>`,
    `<Application name="roofdatum" version="${escapeXml(record.madeBy.version)}"/>`,
    '<Surfaces>',
  ];
  for (const surface of triangleSurfaces(record)) {
    if (surface.what !== 'roof-plane') continue;
    lines.push(`<Surface name="${escapeXml(surface.id)}" desc="roof plane of building ${escapeXml(surface.building)}"><Definition surfType="TIN">`, '<Pnts>');
    for (const [i, corner] of surface.corners.entries()) {
      const [east, north, up] = place(corner);
      lines.push(`<P id="${i + 1}">${decimal(north)} ${decimal(east)} ${decimal(up)}</P>`);
    }
    lines.push('</Pnts>', '<Faces>');
    for (let i = 0; i < surface.triangles.length; i += 3) lines.push(`<F>${surface.triangles.slice(i, i + 3).map((index) => index + 1).join(' ')}</F>`);
    lines.push('</Faces>', '</Definition></Surface>');
  }
  lines.push('</Surfaces>', '</LandXML>');
  return `${lines.join('\n')}\n`;
}

/** To a hundredth of a millimetre. */
const decimal = (value: number): string => String(Number(value.toFixed(5)));

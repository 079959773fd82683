import clearRoundTheArray from './rules/clear-round-the-array.json' with { type: 'json' };
import commercialFireAccess from './rules/commercial-fire-access.json' with { type: 'json' };
import residentialFireAccess from './rules/residential-fire-access.json' with { type: 'json' };
import windEdgeZones from './rules/wind-edge-zones.json' with { type: 'json' };
import type { RuleSet } from './rule-set.ts';
import { validateRules } from './validate-rules.ts';

/** The example rule sets that come with the program, by the name they are asked for with. */
export const SHIPPED_RULES: Readonly<Record<string, RuleSet>> = {
  'residential-fire-access': validateRules(residentialFireAccess, 'residential-fire-access'),
  'commercial-fire-access': validateRules(commercialFireAccess, 'commercial-fire-access'),
  'wind-edge-zones': validateRules(windEdgeZones, 'wind-edge-zones'),
  'clear-round-the-array': validateRules(clearRoundTheArray, 'clear-round-the-array'),
};

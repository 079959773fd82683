import type { Schema } from '@cfworker/json-schema';
import schema from './record.schema.json' with { type: 'json' };

/** JSON Schema of `roofdatum-record/1`, as published in the repository. */
export const recordSchema: Schema = schema as unknown as Schema;

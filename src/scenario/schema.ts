/**
 * JSON Schema (draft 2020-12) of a scenario, made of the same shapes that read it. It describes this program's own words; the
 * reader also understands other terms of the trade, and checks what a schema cannot say (units in texts, unique ids, names).
 */
import { profileShape } from './profile.ts';
import { documentShape, socketShape } from './read.ts';
import { FORMAT, MOST_SOCKETS, MOST_TUBES, VERSION } from './scenario.ts';
import type { StageSchema } from './scenario.ts';
import type { JsonSchema } from './shapes.ts';
import { tubeShape } from './tubes.ts';
import { stageSchemas } from './values.ts';

export function scenarioJsonSchema(stages: readonly StageSchema[]): JsonSchema {
  const socket = {
    ...socketShape.schema,
    properties: {
      ...propertiesOf(socketShape.schema),
      stage: { enum: stages.map(({ id }) => id) },
    },
    allOf: stages.map((stage) => ({
      if: { properties: { stage: { const: stage.id } }, required: ['stage'] },
      // `then` is JSON Schema's word; nothing here is awaited.
      // oxlint-disable-next-line unicorn/no-thenable
      then: { properties: { ...stageSchemas(stage) } },
    })),
  };
  return {
    $schema: 'https://json-schema.org/draft/2020-12/schema',
    title: 'Stagefit scenario',
    ...documentShape.schema,
    properties: {
      ...propertiesOf(documentShape.schema),
      format: { const: FORMAT },
      version: { const: VERSION },
      bench: profileShape.schema,
      sockets: { type: 'array', minItems: 1, maxItems: MOST_SOCKETS, items: socket },
      tubes: { type: 'array', maxItems: MOST_TUBES, items: tubeShape.schema },
    },
  };
}

function propertiesOf(schema: JsonSchema): JsonSchema {
  return schema['properties'] as JsonSchema;
}

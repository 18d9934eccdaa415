/** `npm run schema`: writes the JSON Schema of a scenario from the shapes that read it. */
import { writeFileSync } from 'node:fs';
import { scenarioJsonSchema } from '../scenario/schema.ts';
import { writeJson } from '../scenario/write.ts';
import { OWN_SCHEMA } from '../own-circuit/stage.ts';
import { STAGES } from '../stage/catalogue.ts';

const file = 'scenarios/scenario.schema.json';
writeFileSync(file, writeJson(scenarioJsonSchema([...STAGES, OWN_SCHEMA])));
process.stdout.write(`${file} written\n`);

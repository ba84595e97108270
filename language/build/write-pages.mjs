// Writes the reference pages language/*.md, and the schema of project files, from the checks, functions, units and kinds. Needs the compiled language (`tsc -b`).
import { writeFileSync } from 'node:fs';
import path from 'node:path';
import { projectSchema, referencePages } from '../out/index.js';

const folder = path.resolve(import.meta.dirname, '..');
for (const { name, text } of referencePages()) {
  writeFileSync(path.join(folder, name), text);
  console.log(`wrote language/${name}`);
}

// The schema of project files, which names every check, is made of the same definitions.
const schema = path.join(folder, '../server/schemas/project.schema.json');
writeFileSync(schema, `${JSON.stringify(projectSchema(), undefined, 2)}\n`);
console.log('wrote server/schemas/project.schema.json');

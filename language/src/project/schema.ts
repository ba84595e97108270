import { PROJECT_FILE, PROJECT_SCHEMA, SETTINGS, type Setting, type SettingType } from './settings.js';

/** The published JSON Schema of project files, from the same definitions that they are read by. */
export const projectSchema = (): object => ({
  $schema: 'https://json-schema.org/draft/2020-12/schema',
  $id: PROJECT_SCHEMA,
  title: PROJECT_FILE,
  description: 'What holds for all designs of a project.',
  ...schemaOf({ type: 'keys', keys: SETTINGS }),
});

function schemaOf(value: SettingType): object {
  switch (value.type) {
    case 'text':
      return { type: 'string', ...(value.pattern ? { pattern: value.pattern.test.source } : {}) };
    case 'word':
      return { enum: value.words };
    case 'number':
      return { type: value.whole ? 'integer' : 'number', minimum: value.minimum, maximum: value.maximum };
    case 'list':
      return { type: 'array', items: schemaOf(value.of), maxItems: value.most };
    case 'names':
      return {
        type: 'object',
        propertyNames: { pattern: value.name.source },
        additionalProperties: schemaOf(value.of),
        maxProperties: value.most,
      };
    case 'keys':
      return {
        type: 'object',
        additionalProperties: false,
        ...(value.required ? { required: value.required } : {}),
        properties: Object.fromEntries(value.keys.map((key) => [key.name, keySchema(key)])),
      };
    case 'either':
      return { anyOf: value.of.map(schemaOf) };
  }
}

const keySchema = ({ doc, value, now }: Setting): object => ({
  description: doc,
  ...(now === undefined ? {} : { deprecated: true }),
  ...schemaOf(value),
});

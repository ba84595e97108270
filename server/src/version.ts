/** Version of the tool, stamped on every output. A test holds it to server/package.json. */
export const VERSION = '0.1.0';

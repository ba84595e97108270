// Runs inside the extension host, under the served editor and under a desktop VS Code alike.
'use strict';
const fs = require('node:fs');
const path = require('node:path');

exports.run = async function run() {
  const loaded = require('mocha');
  // Depending on the host's Node, the module arrives as itself or as a namespace.
  const Mocha = typeof loaded === 'function' ? loaded : (loaded.default ?? loaded.Mocha);
  const output = process.env.WATTWRIGHT_SUITE_RESULTS;
  const mocha = new Mocha({
    ui: 'tdd',
    timeout: 60_000,
    ...(output ? { reporter: 'json', reporterOptions: { output } } : { reporter: 'spec' }),
  });
  for (const file of fs.readdirSync(__dirname).sort()) {
    if (file.endsWith('.test.cjs')) mocha.addFile(path.join(__dirname, file));
  }
  await new Promise((resolve, reject) => {
    mocha.run((failures) => (failures > 0 ? reject(new Error(`${failures} tests failed`)) : resolve()));
  });
};

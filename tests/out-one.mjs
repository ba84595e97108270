import { build } from 'esbuild';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
const root='/work/wt-me';
const outfile='/work/wt-me/tests/out/one.mjs';
await build({stdin:{contents:`export {comparisonsOf} from './compare.js'; export {randomSystem} from './random-system.js'; export {reportOf} from './report.js';`,resolveDir:root+'/tests/agreement',loader:'ts'},outfile,bundle:true,format:'esm',platform:'node',packages:'external',alias:{'@wattwright/language':root+'/language/src/index.ts'},logLevel:'warning'});
const m=await import(pathToFileURL(outfile).href);
const all=[];
for(const s of process.argv.slice(2)){const [a,b]=s.split('..').map(Number);for(let i=a;i<=(b??a);i++)all.push(...await m.comparisonsOf(m.randomSystem(i)));}
console.log(m.reportOf(all,2));

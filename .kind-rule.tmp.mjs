import tseslint from '/work/wt-roles/node_modules/typescript-eslint/dist/index.js';
const KINDS='generator|grid|solar|wind|alternator|vehicle|charger|inverter|chargeController|converter|battery|bus|fuse|breaker|switch|transfer|receptacle|shunt|load';
const L=`Literal[value=/^(${KINDS})$/]`;
const isKind=':matches(MemberExpression[property.name="kind"], Identifier[name="kind"])';
export const selectors=[
 `BinaryExpression[operator=/^[!=]==$/] > ${L}`,
 `SwitchStatement > SwitchCase > ${L}`,
 `CallExpression[callee.property.name=/^(includes|has|indexOf)$/] > ${isKind}.arguments`,
 `Property[key.name=/^(kind|kinds)$/] ${L}`,
 `ArrayExpression > ${L}`,
 `NewExpression[callee.name="Set"] ${L}`,
 `MemberExpression[computed=true] > MemberExpression[property.name="kind"].property`,
];
export default [{ files:['**/*.ts'], languageOptions:{parser: tseslint.parser}, linterOptions:{reportUnusedDisableDirectives:'off'}, rules:{'no-restricted-syntax':['error',...selectors.map(s=>({selector:s,message:s.slice(0,30)}))]}}];

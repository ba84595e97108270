import type { PropertyName } from '../../equipment/index.js';
import { derive, numberIn } from '../../derivation/index.js';
import type { Control, Instance, Rule } from '../../model/types.js';
import { type SetPoint, setPointsInOrder } from '../../quantities/storage/set-points.js';
import { chargingOf, isBank, isInverter, isVehicle } from '../../model/roles.js';
import { said } from '../cells.js';
import { stopsFirst } from '../commissioning/steps.js';
import type { SheetInput } from '../input.js';
import { type Block, type Cell, type Sheet, box, table, text } from '../sheet.js';
import { supplySettings } from '../supply-settings.js';
import { purposeOf, reasonOfSetPoint } from './set-point-reasons.js';
import { settingsPicture } from '../pictures/settings-picture.js';

interface SettingRow {
  readonly device: string;
  readonly setting: string;
  readonly value: Cell;
  readonly reason: string;
}

const AXES = [
  { signal: 'voltage', title: 'voltage', unit: 'V' },
  { signal: 'soc', title: 'state of charge', unit: '' },
] as const;

/** For who sets the devices: every set point in its order along both axes, with its reason. */
export function settingsSheet(input: SheetInput): Sheet {
  const { system, context, cells } = input;
  const banks = system.instances.filter(isBank);
  const axes = banks.flatMap((bank) =>
    AXES.flatMap(({ signal, title, unit }): Block[] => {
      const points = setPointsInOrder(bank, signal, context);
      if (points.length === 0) return [];
      const heading = `${bank.name} along its ${title}`;
      return [
        {
          kind: 'figure',
          title: `Order of set points: ${heading}`,
          picture: settingsPicture(
            heading,
            points.map(({ what, value, role }) => ({
              text: `${said(value)}  ${what}`,
              at: numberIn(value, unit),
              isLimit: role.kind === 'limit',
            })),
          ),
          description: points.map(({ what, value }) => `${said(value)} ${what}`).join('; '),
        },
        table<SetPoint>(
          `${signal}Of${bank.name}`,
          `Set points: ${heading}, from high to low`,
          [
            { key: 'value', title: 'Value', isNumber: true, cell: ({ value }) => cells.value(value) },
            { key: 'what', title: 'Set point', cell: ({ what }) => text(what) },
            { key: 'at', title: 'Set at', cell: ({ role }) => text(role.kind === 'limit' ? '' : role.at.name) },
            { key: 'reason', title: 'Reason', cell: (point) => text(reasonOfSetPoint(point, points, unit)) },
            { key: 'tolerance', title: 'Tolerance', isNumber: true, cell: (point) => toleranceOf(point, unit) },
            {
              key: 'set',
              title: 'As set',
              isNumber: true,
              cell: ({ role }) => (role.kind === 'limit' ? text('') : box()),
            },
          ],
          points,
          '',
        ),
      ];
    }),
  );
  return {
    name: 'settings',
    title: 'Settings sheet',
    reader: 'who sets the devices',
    blocks: [
      {
        kind: 'text',
        paragraphs: [
          'Set each value at the device named, then read it back and write it down. Where a bank has a management link, its limits take precedence.',
          'Drawn heavy: limits of a bank, which are not set here. A reason names the set point from which the distance must stay.',
        ],
      },
      ...axes,
      table<SettingRow>(
        'settings',
        'Settings of devices',
        [
          { key: 'device', title: 'Set at', cell: ({ device }) => text(device) },
          { key: 'setting', title: 'Setting', cell: ({ setting }) => text(setting) },
          { key: 'value', title: 'Value', isNumber: true, cell: ({ value }) => value },
          { key: 'reason', title: 'Reason', cell: ({ reason }) => text(reason) },
          { key: 'set', title: 'As set', isNumber: true, cell: () => ({ kind: 'box' }) },
        ],
        system.instances.flatMap((each) => settingsOf(each, input)),
        'No device has settings.',
      ),
      table<RuleRow>(
        'rules',
        'Control rules',
        [
          { key: 'control', title: 'Control', cell: ({ control }) => text(control.name) },
          { key: 'without', title: 'Without link', cell: ({ without }) => text(without) },
          { key: 'rule', title: 'Rule', cell: ({ rule }) => text(rule.text) },
          { key: 'reason', title: 'Reason', cell: (row) => ruleReason(row, input) },
          { key: 'set', title: 'As set', cell: () => ({ kind: 'box' }) },
        ],
        system.controls.flatMap(rulesOf),
        'The design has no control rules.',
      ),
    ],
  };
}

/** Half the range that a set point is stated with; a box to fill in where it is one value. Limits of the bank have none. */
function toleranceOf({ role, value: { value } }: SetPoint, unit: string): Cell {
  if (role.kind === 'limit') return text('');
  const stated = role.kind === 'rule' ? undefined : role.at.properties.get(role.property)?.value;
  const range = stated?.type === 'quantity' ? stated.quantity : value;
  if (typeof range !== 'object' || range.low === range.high) return box();
  return text(`± ${said(derive('tolerance', (range.high - range.low) / 2, unit))}`);
}

interface RuleRow {
  readonly control: Control;
  readonly without: string;
  readonly rule: Rule;
}

/** What its control is for and the distances that each of its set points keeps; a box where neither is known. */
function ruleReason({ control, rule }: RuleRow, { system, context }: SheetInput): Cell {
  const reasons = system.instances.filter(isBank).flatMap((bank) =>
    AXES.flatMap(({ signal, unit }) => {
      const points = setPointsInOrder(bank, signal, context);
      return points
        .filter(({ role }) => role.kind === 'rule' && role.at === control && role.rule === rule)
        .map((point) => reasonOfSetPoint(point, points, unit));
    }),
  );
  const reason = [...new Set(reasons.filter(Boolean))].join(' ') || control.doc;
  return reason ? text(reason) : box();
}

const rulesOf = (control: Control): RuleRow[] => [
  ...stopsFirst(control.rules).map((rule) => ({ control, without: '', rule })),
  ...control.fallbacks.flatMap(({ link, rules }) =>
    stopsFirst(rules).map((rule) => ({ control, without: link.name, rule })),
  ),
];

/** Properties that a person sets at a device, beyond its set points. */
const SET_BY_HAND: readonly PropertyName[] = [
  'tailTime',
  'temperatureCompensation',
  'cutOff',
  'reconnect',
  'warmUp',
  'coolDown',
];

function settingsOf(instance: Instance, input: SheetInput): SettingRow[] {
  const { cells } = input;
  // The outlet of a vehicle gives what it gives: nothing is set at it.
  if (isVehicle(instance)) return [];
  const charging = chargingOf(instance);
  const names = new Set<string>([
    ...(charging?.setPoints ?? []),
    ...[charging?.bounds.setting, charging?.bounds.inputSetting].filter((name) => name !== undefined),
    ...(charging || isInverter(instance) ? SET_BY_HAND : []),
  ]);
  const single = [...names].flatMap((name): SettingRow[] => {
    const property = instance.properties.get(name);
    if (!property || property.origin === 'default') return [];
    return [
      {
        device: instance.name,
        setting: wordsOf(name),
        value: cells.fact(instance, name),
        reason: purposeOf(instance, name),
      },
    ];
  });
  const bySupply = supplySettings(input.context)
    .filter(({ thing }) => thing === instance)
    .map(({ supply, setting }): SettingRow => ({
      device: instance.name,
      setting: `input limit on ${supply.name}`,
      value: cells.value(setting),
      reason: `Set anew at each change of supply, before ${supply.label ?? supply.name} is connected.`,
    }));
  return [...single, ...bySupply];
}

/** `currentLimit` as people say it: `current limit`. */
const wordsOf = (name: string): string => name.replace(/([A-Z])/g, (letter) => ` ${letter.toLowerCase()}`);

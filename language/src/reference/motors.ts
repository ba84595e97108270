/** Tables of the National Electrical Code (NFPA 70) on motors. */
import directFile from './nec/motor-current-430-247.json' with { type: 'json' };
import singleFile from './nec/motor-current-430-248.json' with { type: 'json' };
import threeFile from './nec/motor-current-430-250.json' with { type: 'json' };
import devicesFile from './nec/motor-devices-430-52.json' with { type: 'json' };
import { type Table, type TableRow, typed } from './table.js';

/** Full-load current (A) of a motor by its rating, in the order of the ranges of voltage of the table. */
export interface MotorCurrentRow extends TableRow {
  readonly horsepower: number;
  readonly amperes: readonly (number | null)[];
}

export interface MotorCurrentTable extends Table<MotorCurrentRow> {
  /** V for which each column holds. */
  readonly voltages: readonly { readonly from: number; readonly to: number }[];
}

export const MOTOR_DEVICES = ['fuse', 'delayFuse', 'breaker'] as const;
export type MotorDevice = (typeof MOTOR_DEVICES)[number];

/** % of the full-load current that a device may be rated for. */
export type MotorDeviceRow = TableRow & { readonly motor: string } & Readonly<Record<MotorDevice, number>>;

export const necMotorCurrents = {
  dc: typed<MotorCurrentTable>(directFile),
  single: typed<MotorCurrentTable>(singleFile),
  three: typed<MotorCurrentTable>(threeFile),
} as const;

/** `exceptions`: % for a motor that does not start with the table; breakers by whether they are above 100 A. */
export const necMotorDevices = typed<
  Table<MotorDeviceRow> & {
    readonly exceptions: Readonly<Record<MotorDevice | 'breakerTo100A', number>>;
  }
>(devicesFile);

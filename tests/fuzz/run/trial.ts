import { Buffer } from 'node:buffer';
import type { Edit } from '../edits.js';
import { Examination } from '../examination.js';
import { tryCall } from './try-call.js';
import { tryProtocol } from './try-protocol.js';

export type { Edit };

/** The content of a file: a text, or bytes that are none. */
export type Content = string | { readonly base64: string };
export type Files = Readonly<Record<string, Content>>;

/** One step of a talk with the language server. Files are meant by their number. */
export type Step =
  | { readonly step: 'open' | 'change'; readonly file: number; readonly text: string }
  | {
      readonly step: 'edit';
      readonly file: number;
      readonly from: readonly [line: number, character: number];
      readonly to: readonly [line: number, character: number];
      readonly text: string;
    }
  | { readonly step: 'close' | 'touch'; readonly file: number }
  | {
      readonly step: 'ask';
      readonly method: string;
      readonly file: number;
      readonly at: readonly [line: number, character: number];
      readonly word: string;
    }
  | { readonly step: 'nonsense'; readonly method: string; readonly params: unknown };

/** Something to try, as it is kept when it fails. */
export type Case =
  | { readonly kind: 'edit' | 'text' | 'scenario'; readonly files: Readonly<Record<string, string>> }
  | {
      readonly kind: 'call' | 'process';
      readonly files: Files;
      readonly args: readonly string[];
      readonly input?: string;
    }
  | { readonly kind: 'protocol'; readonly steps: readonly Step[] };

export const KINDS = ['edit', 'text', 'scenario', 'call', 'process', 'protocol'] as const;

export const contentOf = (content: Content): Buffer =>
  typeof content === 'string' ? Buffer.from(content) : Buffer.from(content.base64, 'base64');

/** Tries cases and says which promises they break. */
export class Trials {
  private readonly examination: Examination;

  constructor(patience?: number) {
    this.examination = new Examination(patience);
  }

  async faults(one: Case): Promise<readonly string[]> {
    switch (one.kind) {
      case 'edit':
      case 'text':
      case 'scenario':
        return (await this.examination.ask(one.files)).faults;
      case 'call':
      case 'process':
        return tryCall(one);
      case 'protocol':
        return tryProtocol(one.steps);
    }
  }

  end(): Promise<void> {
    return this.examination.end();
  }
}

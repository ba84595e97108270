import { describe, expect, test } from 'vitest';
import { Restarts } from '../../extension/src/restarts.js';

const MINUTE = 60_000;

describe('a language server that has ended', () => {
  test('is started again, and the user is told the first time', () => {
    const restarts = new Restarts();
    expect(restarts.ended(0)).toEqual({ restart: true, tell: true });
    expect(restarts.ended(MINUTE)).toEqual({ restart: true, tell: false });
    for (let minute = 10; minute < 100; minute += 10)
      expect(restarts.ended(minute * MINUTE)).toEqual({ restart: true, tell: false });
  });

  test('stays off after the fifth end within three minutes, which is told, and has all its chances again by hand', () => {
    const restarts = new Restarts();
    for (let end = 0; end < 4; end += 1) expect(restarts.ended(end * 1000).restart).toBe(true);
    expect(restarts.ended(4000)).toEqual({ restart: false, tell: true });
    expect(restarts.ended(5000)).toEqual({ restart: true, tell: false });
  });
});

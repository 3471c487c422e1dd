import { describe, expect, test } from 'vitest';
import { canonicalJson, sha256 } from '../../../core/store/canonical.ts';
import { newId } from '../../../core/store/ids.ts';

describe('canonicalJson', () => {
  // RFC 8785, Appendix B, Table 1: bits of a double and its number text (ours stands in quotes).
  test.each([
    ['0000000000000000', '0'],
    ['8000000000000000', '0'],
    ['0000000000000001', '5e-324'],
    ['8000000000000001', '-5e-324'],
    ['7fefffffffffffff', '1.7976931348623157e+308'],
    ['ffefffffffffffff', '-1.7976931348623157e+308'],
    ['4340000000000000', '9007199254740992'],
    ['c340000000000000', '-9007199254740992'],
    ['4430000000000000', '295147905179352830000'],
    ['44b52d02c7e14af5', '9.999999999999997e+22'],
    ['44b52d02c7e14af6', '1e+23'],
    ['44b52d02c7e14af7', '1.0000000000000001e+23'],
    ['444b1ae4d6e2ef4e', '999999999999999700000'],
    ['444b1ae4d6e2ef4f', '999999999999999900000'],
    ['444b1ae4d6e2ef50', '1e+21'],
    ['3eb0c6f7a0b5ed8c', '9.999999999999997e-7'],
    ['3eb0c6f7a0b5ed8d', '0.000001'],
    ['41b3de4355555553', '333333333.3333332'],
    ['41b3de4355555554', '333333333.33333325'],
    ['41b3de4355555555', '333333333.3333333'],
    ['41b3de4355555556', '333333333.3333334'],
    ['41b3de4355555557', '333333333.33333343'],
    ['becbf647612f3696', '-0.0000033333333333333333'],
    ['43143ff3c1cb0959', '1424953923781206.2'],
  ])('number %s is "%s"', (bits, text) => {
    expect(canonicalJson(Buffer.from(bits, 'hex').readDoubleBE())).toBe(`"${text}"`);
  });

  test('refuses what has no decimal text', () => {
    expect(() => canonicalJson(Number.NaN)).toThrow(RangeError);
    expect(() => canonicalJson(Number.POSITIVE_INFINITY)).toThrow(RangeError);
  });

  // RFC 8785, section 3.2.3: the example for property sorting, by UTF-16 code unit.
  test('sorts keys as the RFC does', () => {
    const text = canonicalJson({
      '\u20ac': 'Euro Sign',
      '\r': 'Carriage Return',
      '\ufb33': 'Hebrew Letter Dalet With Dagesh',
      '1': 'One',
      '\ud83d\ude00': 'Emoji: Grinning Face',
      '\u0080': 'Control',
      '\u00f6': 'Latin Small Letter O With Diaeresis',
    });
    expect(Object.values(JSON.parse(text))).toEqual([
      'One', // an integer-like key, which JSON.parse puts first whatever the text says
      'Carriage Return',
      'Control',
      'Latin Small Letter O With Diaeresis',
      'Euro Sign',
      'Emoji: Grinning Face',
      'Hebrew Letter Dalet With Dagesh',
    ]);
    expect(text.indexOf('Carriage Return')).toBeLessThan(text.indexOf('"1"'));
  });

  test('nests, and keeps null and text apart', () => {
    expect(canonicalJson({ b: [1, null, 'x"\n'], a: { d: true, c: '1' } })).toBe(
      String.raw`{"a":{"c":"1","d":true},"b":["1",null,"x\"\n"]}`,
    );
  });
});

// FIPS 180-2, Appendix B.1.
test('sha256 of "abc"', () => {
  expect(sha256('abc')).toBe('ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad');
});

// RFC 9562, sections 4.1, 4.2 and 5.7: version 7, variant 10x, 48 bits of milliseconds first.
test('ids are version 7, of now, and rise', () => {
  const before = Date.now();
  const ids = Array.from({ length: 20_000 }, newId);
  for (const id of ids)
    expect(id).toMatch(/^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  expect(ids).toEqual([...ids].sort());
  expect(new Set(ids).size).toBe(ids.length);
  const madeMs = Number.parseInt((ids[0] ?? '').replace('-', '').slice(0, 12), 16);
  expect(madeMs).toBeGreaterThanOrEqual(before);
  expect(madeMs).toBeLessThanOrEqual(Date.now());
});

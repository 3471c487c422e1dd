import { createHash } from 'node:crypto';
import { expect, test } from 'vitest';
import { probeCodes } from '../../../core/project/probe-codes.ts';
import { checkCharacter, hasSoundCheck } from '../../../core/survey/check-character.ts';
import { CODE_LETTERS, holdsCodes, plainCode, readCode } from '../../../core/survey/probe-code.ts';

// Published examples of ISO/IEC 7064 MOD 37-2: G123489654321 with check character Y (documentation of an open library of
// check digits, and the test suites of several others); donation number A999915000001 with M (tests of another one).
test('check characters of published examples', () => {
  expect(checkCharacter('G123489654321')).toBe('Y');
  expect(checkCharacter('A999915000001')).toBe('M');
  expect(hasSoundCheck('G123489654321Y')).toBe(true);
  expect(hasSoundCheck('A999915000001M')).toBe(true);
  expect(hasSoundCheck('G123489654322Y')).toBe(false);
  expect(hasSoundCheck('G123489654321Z')).toBe(false);
  expect(checkCharacter('P 7')).toBeNull();
  expect(hasSoundCheck('')).toBe(false);
});

const ids = Array.from({ length: 2000 }, (_, i) => createHash('md5').update(`probe ${i}`).digest('hex'));
const codes = probeCodes('project-one', ids);
const known = ids.slice(0, 60).map((id, i) => ({ code: codes.get(id) ?? '', label: `Q${i + 1}` }));

test('2000 probes: each a code of its own, easily read letters only, sound, and the same every time', () => {
  expect(new Set(codes.values()).size).toBe(2000);
  for (const code of codes.values()) {
    expect(code).toMatch(/^..-....-.$/);
    expect(hasSoundCheck(plainCode(code))).toBe(true);
    expect([...plainCode(code)].every((c) => CODE_LETTERS.includes(c))).toBe(true);
  }
  expect(CODE_LETTERS).not.toMatch(/[01AEIOUQLZSGB]/);
  expect(new Set([...codes.values()].map((code) => code.slice(0, 2))).size).toBe(1);
  // A probe that goes takes its code along: the others keep theirs.
  const fewer = probeCodes('project-one', ids.slice(1, 60));
  for (const id of ids.slice(1, 60)) expect(fewer.get(id)).toBe(codes.get(id));
});

test('written without dashes, in small letters, with spaces: the same code', () => {
  const { code, label } = known[6] ?? { code: '', label: '' };
  for (const written of [code, code.toLowerCase(), plainCode(code), code.replaceAll('-', ' ')])
    expect(readCode(written, known)).toEqual({ label });
});

// The property the standard is made for (ISO/IEC 7064, pure system of prime modulus): checked on every such slip.
test('no single wrong character and no exchange of neighbours passes, and the hint names the probe meant', () => {
  const characters = '0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ';
  let hinted = 0;
  let tried = 0;
  for (const { code, label } of known.slice(0, 12)) {
    const plain = plainCode(code);
    const slips = [...plain].flatMap((c, i) => [
      ...[...characters].filter((x) => x !== c).map((x) => plain.slice(0, i) + x + plain.slice(i + 1)),
      ...(c === plain[i + 1] || i + 1 === plain.length
        ? []
        : [plain.slice(0, i) + plain[i + 1] + c + plain.slice(i + 2)]),
    ]);
    for (const slip of slips) {
      const read = readCode(slip, known);
      expect('problem' in read).toBe(true);
      tried++;
      if ('problem' in read && read.problem.includes(`${code} (probe '${label}')`)) hinted++;
    }
  }
  expect(tried).toBeGreaterThan(3000);
  expect(hinted / tried).toBeGreaterThan(0.99);
});

test('what is wrong is said: length, another project, a probe that is gone', () => {
  const code = plainCode(known[0]?.code ?? '');
  expect(readCode(code.slice(0, 6), known)).toMatchObject({ problem: /has 6 characters.*perhaps/ });
  const foreign = [...probeCodes('project-two', ids.slice(0, 40)).values()].find(
    (c) => c.slice(0, 2) !== code.slice(0, 2),
  );
  expect(readCode(foreign ?? '', known)).toMatchObject({ problem: /sound code of another project/ });
  const gone = codes.get(ids[100] ?? '') ?? '';
  expect(readCode(gone, known)).toMatchObject({ problem: /sound code, but no probe of this project has it/ });
  expect(readCode('P-17', known)).toMatchObject({ problem: /no code of this project is like it/ });
});

test('a column of other codes is not taken for one of ours', () => {
  expect(holdsCodes(['S-001', 'LAB 4471', '2024/17', 'clay'], known)).toBe(false);
  expect(holdsCodes(['S-001', `${known[3]?.code.slice(0, 8)}X`], known)).toBe(true);
  const late = [...Array.from({ length: 400 }, (_, i) => `S-${i}`), known[59]?.code ?? ''];
  expect(holdsCodes(late, known)).toBe(true);
});

/**
 * Checked against the worked examples of Mahun, "Open Access Surveying Library": "Traverse Computations", chapter E
 * (bearing traverse, Compass Rule), F (coordinates) and G (area), and "Horizontal Curves", chapter C (curve of 500 ft
 * radius and 55 degrees), all in feet; against the two rules' own definitions; and against shapes of known area.
 */
import { describe, expect, test } from 'vitest';
import { readCourseText } from '../../../core/exchange/read-courses.ts';
import { formatBearing, parseBearing } from '../../../core/geo/bearing.ts';
import { type Course, computeTraverse } from '../../../core/geo/traverse.ts';

const FT = 0.3048;
const feet = { angleUnit: 'deg', lengthUnit: 'ft' } as const;
const metres = { angleUnit: 'deg', lengthUnit: 'm' } as const;
const BOOK = `AB  S 68°05'35"W  472.68
BC  N 19°46'00"W  216.13
CD  N 45°55'20"E  276.52
DA  S 54°59'15"E  382.24`;

function courses(text: string, options: Parameters<typeof readCourseText>[1] = metres): Course[] {
  return readCourseText(text, options).map(({ course, problem, row }) => {
    if (course === null) throw new Error(`row ${row}: ${problem}`);
    return course;
  });
}

const start = [2000 * FT, 500 * FT] as const;

describe('the book traverse', () => {
  const book = computeTraverse(start, courses(BOOK, feet), { rule: 'compass', returns: true });

  test('misclosure, corrections and adjusted courses, to the book’s last digit', () => {
    // The book sums values rounded to 0.001 ft.
    expect(Math.abs((book.misclosure?.northM ?? 0) / FT - 0.083)).toBeLessThan(0.0015);
    expect(Math.abs((book.misclosure?.eastM ?? 0) / FT - 0.075)).toBeLessThan(0.0015);
    expect(book.perimeterM / FT).toBeCloseTo(1347.57, 6);
    const printed = [
      [-176.386, -438.574, 472.715, `S 68°05'27.4" W`],
      [203.382, -73.105, 216.122, `N 19°46'14.9" W`],
      // The book prints 276.479 here, two digits exchanged: its own latitude and departure give 276.497.
      [192.34, 198.635, Math.hypot(192.34, 198.635), `N 45°55'20.7" E`],
      [-219.336, 313.044, 382.237, `S 54°58'58.0" E`],
    ] as const;
    printed.forEach(([latitude, departure, length, bearing], i) => {
      const course = book.courses[i];
      if (course === undefined) throw new Error('a course is missing');
      // The book rounds each step to 0.001 ft.
      expect(Math.abs(course.latitudeM / FT - latitude)).toBeLessThan(0.0015);
      expect(Math.abs(course.departureM / FT - departure)).toBeLessThan(0.0015);
      expect(Math.abs(course.lengthM / FT - length)).toBeLessThan(0.0015);
      const offDeg = Math.abs(course.azimuthDeg - Number(parseBearing(bearing, 'deg')));
      expect(offDeg * 3600).toBeLessThan(0.001 / 216.122 / (Math.PI / 180 / 3600));
    });
  });

  test('coordinates and area', () => {
    const corners = [
      [2000, 500],
      [1561.426, 323.614],
      [1488.321, 526.996],
      [1686.956, 719.336],
    ];
    book.ring.forEach(([x, y], i) => {
      expect(Math.abs(x / FT - (corners[i]?.[0] ?? 0))).toBeLessThan(0.0015);
      expect(Math.abs(y / FT - (corners[i]?.[1] ?? 0))).toBeLessThan(0.0015);
    });
    // The book's two columns of cross products: 3,384,174.1 and 3,590,045.6; half their difference.
    expect(Math.abs(book.areaM2 / FT ** 2 - (3_590_045.6 - 3_384_174.1) / 2)).toBeLessThan(1);
  });

  test('the transit rule shares out by latitudes and departures, and also closes', () => {
    const raw = computeTraverse(start, courses(BOOK, feet), { rule: 'none', returns: true });
    const transit = computeTraverse(start, courses(BOOK, feet), { rule: 'transit', returns: true });
    const sum = (of: (i: number) => number) => [0, 1, 2, 3].reduce((total, i) => total + of(i), 0);
    const all = sum((i) => Math.abs(raw.courses[i]?.latitudeM ?? 0));
    transit.courses.forEach((course, i) => {
      const latitude = raw.courses[i]?.latitudeM ?? 0;
      const wanted = (-(raw.misclosure?.northM ?? 0) * Math.abs(latitude)) / all;
      expect(course.latitudeCorrectionM).toBeCloseTo(wanted, 12);
    });
    expect(sum((i) => transit.courses[i]?.latitudeM ?? 1)).toBeCloseTo(0, 10);
    expect(sum((i) => transit.courses[i]?.departureM ?? 1)).toBeCloseTo(0, 10);
    // Left as it is, nothing is moved but the end of the last side.
    expect(raw.courses.every((c) => c.latitudeCorrectionM === 0)).toBe(true);
    expect(raw.ring).toHaveLength(4);
  });

  test('a slip in one course is found, and a good traverse has none', () => {
    expect(book.likelySlips).toEqual([]);
    const slip = computeTraverse(start, courses(BOOK.replace('276.52', '276.52 m'), feet), {
      rule: 'none',
      returns: true,
    });
    expect(slip.misclosure?.ratio).toBeLessThan(10);
    expect(slip.likelySlips).toEqual(['It closes where course 3 is in feet while the others are in metres.']);
    const turned = courses(BOOK.replace('N 19°46', 'S 19°46'), feet);
    expect(computeTraverse(start, turned, { rule: 'none', returns: true }).likelySlips).toEqual([
      'It closes where course 2 has north and south exchanged.',
    ]);
  });
});

test('the last side may be left out', () => {
  const open = computeTraverse([0, 0], courses('N 0 E 30\nS 90 E 40\nS 0 W 30'), {
    rule: 'compass',
    returns: false,
  });
  expect(open.misclosure).toBeNull();
  expect(open.ring).toHaveLength(4);
  expect(open.areaM2).toBeCloseTo(1200, 9);
});

describe('curves', () => {
  test('the book curve: radius 500 ft and 55 degrees give arc 479.965 and chord 461.749', () => {
    const [, curve] = courses(`N 0-00-00 E 100\nR=500.00 delta=55°00'00" right`, feet);
    expect((curve?.lengthM ?? 0) / FT).toBeCloseTo(461.749, 3);
    expect(((curve?.curve?.radiusM ?? 0) * 55 * Math.PI) / 180 / FT).toBeCloseTo(479.965, 2);
    // Tangent to the course before: the chord is off it by half the central angle.
    expect(curve?.azimuthDeg).toBeCloseTo(27.5, 9);
    const byArc = courses('chord N 27-30-00 E, radius 500 ft, arc 479.965 ft, curve to the right', feet)[0];
    expect(byArc?.curve?.deltaDeg).toBeCloseTo(55, 3);
  });

  test('two half circles are a circle, whichever way round', () => {
    for (const turn of ['left', 'right'] as const) {
      const half = (azimuthDeg: number): Course => ({
        azimuthDeg,
        lengthM: 20,
        curve: { radiusM: 10, deltaDeg: 180, turn },
      });
      const circle = computeTraverse([0, 0], [half(0), half(180)], { rule: 'compass', returns: true });
      expect(circle.areaM2).toBeCloseTo(Math.PI * 100, 9);
      expect(circle.perimeterM).toBeCloseTo(Math.PI * 20, 9);
      for (const [x, y] of circle.ring) expect(Math.hypot(x, y - 10)).toBeCloseTo(10, 9);
      expect(circle.ring.length).toBeGreaterThan(16);
    }
  });

  test('more than half a circle: three quarters of one, and the square in its gap', () => {
    const key = computeTraverse(
      [10, 0],
      [
        {
          azimuthDeg: 315 - 90,
          lengthM: Math.SQRT2 * 10,
          curve: { radiusM: 10, deltaDeg: 270, turn: 'left' },
        },
        { azimuthDeg: 0, lengthM: 10, curve: null },
        { azimuthDeg: 90, lengthM: 10, curve: null },
      ],
      { rule: 'none', returns: true },
    );
    expect(key.misclosure?.distanceM).toBeCloseTo(0, 9);
    expect(key.areaM2).toBeCloseTo(0.75 * Math.PI * 100, 6);
  });
});

describe('reading', () => {
  test('a direction is written as it was read', () => {
    for (const text of [`N 12°30'00" E`, `S 05°00'59" W`, `N 89°59'59" W`, `S 00°00'01" E`]) {
      expect(formatBearing(Number(parseBearing(text, 'deg')))).toBe(text);
    }
    expect(formatBearing(59.99999)).toBe(`N 60°00'00" E`);
  });

  test.each([
    ['N 12-30-00 E', 12.5],
    [`S 12°30'00" W`, 192.5],
    ['North 12 degrees 30 minutes 00 seconds East', 12.5],
    ['N12d30’00”W', 347.5],
    ['due south', 180],
    [`248°05'35"`, 248 + 5 / 60 + 35 / 3600],
    ['248-05-35', 248 + 5 / 60 + 35 / 3600],
    ['248 05 35', 248 + 5 / 60 + 35 / 3600],
    ['12,5', 12.5],
    ['100 gon', 90],
  ])('%s', (text, azimuth) => {
    expect(parseBearing(text, 'deg')).toBeCloseTo(azimuth as number, 10);
  });

  test('gon, feet and US survey feet, by options and by the row itself', () => {
    const rows = courses('1 100.0000 20,5\n2 200.0000 30 ft\n3 300 1,000.00 us ft', {
      angleUnit: 'gon',
      lengthUnit: 'm',
    });
    expect(rows.map(({ azimuthDeg }) => azimuthDeg)).toEqual([90, 180, 270]);
    expect(rows[0]?.lengthM).toBe(20.5);
    expect(rows[1]?.lengthM).toBeCloseTo(9.144, 12);
    expect(rows[2]?.lengthM).toBeCloseTo((1000 * 1200) / 3937, 12);
  });

  test('a table with headings, its units in them', () => {
    const rows = readCourseText('Line\tAzimuth (gon)\tDistance [ft]\nA-B\t50\t100\nB-C\t150,0\t200', metres);
    expect(rows.map(({ course }) => course?.azimuthDeg)).toEqual([45, 135]);
    expect(rows[1]?.course?.lengthM).toBeCloseTo(60.96, 9);
  });

  test('a deed: words around the numbers, points of beginning passed over', () => {
    const rows = courses(`Beginning at an iron pin at the southwest corner;
      thence North 0 degrees 10 minutes 20 seconds East, a distance of 120.00 feet to a pin;
      thence N. 89° 50' E., 1,060.50 ft to a stone;
      to the point of beginning.`);
    expect(rows).toHaveLength(2);
    expect(rows[0]?.azimuthDeg).toBeCloseTo(10 / 60 + 20 / 3600, 10);
    expect(rows[1]?.lengthM).toBeCloseTo(323.2404, 9);
  });

  test.each([
    ['N 95 E 10', 'more than 90°'],
    ['N 12-75-00 E 10', '75 minutes'],
    ['N 12-30 E', 'no length'],
    ['N 12-30 E 1,234 m', 'two ways'],
    ['N 12-30 E 10 chains', 'chains'],
    ['400 10', 'full circle'],
    ['12 30 10', 'write the marks'],
    ['curve to the left, chord N 10 E 40', 'two of radius'],
    ['R=10 chord=25 N 10 E left', 'longer than twice'],
    ['R=10 arc=12 chord=9 N 10 E left', 'does not agree'],
    ['R=100 arc=12 N 10 E', 'left or to the right'],
    ['N 12-30 E -5', 'not above 0'],
    ['N 12-30 E 0.00', 'not above 0'],
  ])('%s is refused with the row', (line, why) => {
    const rows = readCourseText(`N 0 E 10\n${line}`, metres);
    expect(rows[1]).toMatchObject({ row: 2, course: null });
    expect(rows[1]?.problem).toContain(why);
  });
});

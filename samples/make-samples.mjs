/**
 * Writes the two sample lots. Everything in them is invented. Run with the project's Node:
 *   node_modules/.bin/node samples/make-samples.mjs [folder]
 * The same script always writes the same bytes.
 */
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { transformPoints, WGS84_CODE } from '../core/geo/crs.ts';

const SCHEME = 'czech-building-site-index';
const KBQ_PER_PCI_PER_L = 0.037;
const M_PER_FOOT = 0.3048;

/** 32-bit generator (mulberry32): small, public domain, the same everywhere. */
function makeRandom(seed) {
  let state = seed >>> 0;
  const uniform = () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), state | 1);
    t = (t + Math.imul(t ^ (t >>> 7), t | 61)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
  const normal = () => Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform());
  return { uniform, normal, between: (low, high) => low + (high - low) * uniform() };
}

/**
 * A smooth random surface of the log of radon: a trend and a few waves of 25 to 60 m, standard deviation `sd`.
 * Returns kBq/m3 at metres.
 */
function makeRadonField(random, { medianKBqPerM3, sd, trendPerM }) {
  const waves = Array.from({ length: 14 }, () => {
    const lengthM = random.between(25, 60);
    const direction = random.between(0, 2 * Math.PI);
    const k = (2 * Math.PI) / lengthM;
    return {
      kx: k * Math.cos(direction),
      ky: k * Math.sin(direction),
      phase: random.between(0, 2 * Math.PI),
    };
  });
  const amplitude = sd * Math.sqrt(2 / waves.length);
  return (xM, yM) => {
    const ripple = waves.reduce((sum, w) => sum + Math.cos(w.kx * xM + w.ky * yM + w.phase), 0);
    return medianKBqPerM3 * Math.exp(amplitude * ripple + trendPerM[0] * xM + trendPerM[1] * yM);
  };
}

const HEADERS = [
  'Probe',
  'Easting',
  'Northing',
  'Depth',
  'Soil',
  'Radon',
  'Standard uncertainty',
  'Oxygen (%)',
  'Carbon dioxide (%)',
  'Suction (kPa)',
  'Fresh air seen',
  'Water seen',
  'Remark',
  'Taken (UTC)',
  'Permeability class',
  'Kind',
];

/** Table as text. `decimal` is put into numbers written with a point. */
function writeTable(rows, { units, delimiter, decimal, lineEnd, above = [] }) {
  const headers = HEADERS.map((name) => (units[name] === undefined ? name : `${name} (${units[name]})`));
  const cell = (value) => {
    const text = typeof value === 'number' ? String(value).replace('.', decimal) : (value ?? '');
    return text.includes(delimiter) || text.includes('"') ? `"${text.replaceAll('"', '""')}"` : text;
  };
  const lines = [...above, headers.map(cell).join(delimiter)];
  for (const row of rows) lines.push(HEADERS.map((name) => cell(row[name])).join(delimiter));
  return lines.join(lineEnd) + lineEnd;
}

function round(value, digits) {
  return Number(value.toFixed(digits));
}

/** Minutes after a start as ISO 8601 without seconds. */
function clock(startUtc, minutes) {
  return new Date(Date.parse(startUtc) + minutes * 60_000).toISOString();
}

/** Soil air: the more carbon dioxide, the less oxygen. */
function soilAir(random, carbonDioxide) {
  const co2 = Math.max(0.4, carbonDioxide + 0.3 * random.normal());
  return { co2: round(co2, 2), o2: round(20.9 - 1.15 * co2 - random.between(0.1, 0.6), 1) };
}

function makeOrdinaryLot() {
  const random = makeRandom(20260512);
  const field = makeRadonField(random, { medianKBqPerM3: 24, sd: 0.26, trendPerM: [0.012, 0.008] });
  const [e0, n0] = [600000, 5500000];
  const crsCode = 32633;
  const lot = [
    [0, 0],
    [49, -2],
    [52, 38],
    [5, 41],
  ].map(([x, y]) => [e0 + x, n0 + y]);
  const house = [
    [18, 14],
    [30, 14],
    [30, 24],
    [18, 24],
  ].map(([x, y]) => [e0 + x, n0 + y]);
  const places = [];
  [7, 13, 19, 25].forEach((y, i) => {
    const xs = i % 2 === 0 ? [12, 18, 24, 30, 36] : [15, 21, 27, 33];
    for (const x of xs) places.push([x, y]);
  });
  places.push([10, 34], [44, 32]);

  const rows = [];
  let minutes = 0;
  places.forEach(([px, py], i) => {
    const x = px + random.between(-0.3, 0.3);
    const y = py + random.between(-0.3, 0.3);
    const radon = field(x, y) * Math.exp(0.08 * random.normal());
    const air = soilAir(random, 1.1 + radon / 30);
    minutes += Math.round(random.between(8, 14));
    const row = {
      Probe: `P${i + 1}`,
      Easting: round(e0 + x, 2),
      Northing: round(n0 + y, 2),
      Depth: 0.8,
      Soil: 'silty sand',
      Radon: round(radon, 1),
      'Standard uncertainty': round(0.4 + 0.05 * radon, 1),
      'Oxygen (%)': air.o2,
      'Carbon dioxide (%)': air.co2,
      'Suction (kPa)': round(random.between(1.2, 3.6), 1),
      'Fresh air seen': 'no',
      'Water seen': 'no',
      Remark: '',
      'Taken (UTC)': clock('2026-05-12T07:20:00Z', minutes),
      'Permeability class': 'medium',
      Kind: 'grab',
    };
    rows.push(row);
    if (row.Probe === 'P8') {
      minutes += 6;
      const again = radon * (1 + 0.05 * random.normal());
      rows.push({
        ...row,
        Radon: round(again, 1),
        'Standard uncertainty': round(0.4 + 0.05 * again, 1),
        Remark: 'second syringe from the same probe',
        'Taken (UTC)': clock('2026-05-12T07:20:00Z', minutes),
        Kind: 'duplicate',
      });
    }
    if (row.Probe === 'P12') {
      minutes += 5;
      rows.push({
        ...row,
        Radon: 0.2,
        'Standard uncertainty': 0.1,
        'Oxygen (%)': '',
        'Carbon dioxide (%)': '',
        'Suction (kPa)': '',
        Remark: 'aged dry air through the whole line',
        'Taken (UTC)': clock('2026-05-12T07:20:00Z', minutes),
        Kind: 'blank',
      });
    }
  });
  const lonLat = transformPoints(crsCode, WGS84_CODE, Float64Array.from(lot.flat()));
  const ring = lot.map((_, i) => [round(lonLat[2 * i], 9), round(lonLat[2 * i + 1], 9)]);
  return {
    'samples.csv': writeTable(rows, {
      units: { Easting: 'm', Northing: 'm', Depth: 'm', Radon: 'kBq/m3', 'Standard uncertainty': 'kBq/m3' },
      delimiter: ',',
      decimal: '.',
      lineEnd: '\n',
    }),
    'lot.geojson': writeJson({
      type: 'FeatureCollection',
      features: [
        {
          type: 'Feature',
          properties: { role: 'lot', label: 'Ordinary lot (invented)' },
          geometry: { type: 'Polygon', coordinates: [[...ring, ring[0]]] },
        },
      ],
    }),
    'project.json': writeJson({
      name: 'Ordinary lot (invented)',
      note: 'Invented data. A lot of 0.2 ha with 20 probes at 0.8 m, one duplicate and one blank; nothing went wrong.',
      invented: true,
      crs: { kind: 'epsg', code: crsCode },
      schemeId: SCHEME,
      radonUnit: 'kBq/m3',
      lotFile: 'lot.geojson',
      samplesFile: 'samples.csv',
      footprint: { label: 'House', ring: house },
    }),
  };
}

function makeTroubledLot() {
  const random = makeRandom(20260519);
  const field = makeRadonField(random, { medianKBqPerM3: 34, sd: 0.22, trendPerM: [0.004, 0.006] });
  const lot = [
    [0, 0],
    [118, 0],
    [124, 156],
    [4, 160],
  ];
  const house = [
    [40, 66],
    [84, 66],
    [84, 102],
    [40, 102],
  ];
  const start = '2026-05-19T13:40:00Z';
  const wet = new Set(['T1', 'T2', 'T5']);
  const leaked = new Set(['T10', 'T19']);
  const shallow = new Map([
    ['T4', 20],
    ['T15', 24],
    ['T22', 16],
  ]);
  const hot = 'T16';
  const rows = [];
  let minutes = 0;
  let number = 0;
  for (const py of [28, 48, 68, 88, 108, 128]) {
    for (const px of [28, 48, 68, 88]) {
      number += 1;
      const label = `T${number}`;
      const x = round(px + random.between(-1.5, 1.5), 1);
      const y = round(py + random.between(-1.5, 1.5), 1);
      const kBq = field(x * M_PER_FOOT, y * M_PER_FOOT) * Math.exp(0.09 * random.normal());
      minutes += Math.round(random.between(9, 17));
      let pCi = kBq / KBQ_PER_PCI_PER_L;
      let air = soilAir(random, 0.9 + kBq / 40);
      let suction = random.between(0.9, 3.2);
      let depthIn = 32;
      let remark = '';
      if (shallow.has(label)) {
        depthIn = shallow.get(label);
        pCi *= depthIn / 40;
        remark = 'stopped by cobbles';
      }
      if (label === hot) {
        pCi *= 4.4;
        remark = 'read twice, same value';
      }
      if (leaked.has(label)) {
        pCi = random.between(55, 115);
        air = { o2: round(random.between(20.6, 20.8), 1), co2: round(random.between(0.06, 0.09), 2) };
        suction = random.between(0.2, 0.4);
        if (label === 'T10') remark = 'rod loose, heard air';
      }
      if (wet.has(label)) {
        suction = random.between(18, 19.5);
        remark = label === 'T2' ? 'water in the tube; stopped' : 'wet';
      }
      const row = {
        Probe: label,
        Easting: x,
        Northing: y,
        Depth: depthIn,
        Soil: wet.has(label) ? 'grey clay, wet' : 'silty sand',
        Radon: wet.has(label) ? (label === 'T2' ? 'water' : '') : grouped(pCi),
        'Standard uncertainty': wet.has(label) ? '' : Math.round(8 + 0.06 * pCi),
        'Oxygen (%)': wet.has(label) ? 'n/a' : air.o2,
        'Carbon dioxide (%)': wet.has(label) ? 'n/a' : air.co2,
        'Suction (kPa)': round(suction, 1),
        'Fresh air seen': label === 'T10' ? 'x' : '',
        'Water seen': wet.has(label) ? 'x' : '',
        Remark: remark,
        'Taken (UTC)': clock(start, minutes).slice(0, 16).replace('T', ' '),
        'Permeability class': wet.has(label) ? '' : 'medium',
        Kind: '',
      };
      rows.push(row);
      if (label === 'T13') {
        minutes += 7;
        const again = pCi * (1 + 0.06 * random.normal());
        rows.push({
          ...row,
          Radon: grouped(again),
          'Standard uncertainty': Math.round(8 + 0.06 * again),
          'Taken (UTC)': clock(start, minutes).slice(0, 16).replace('T', ' '),
          Kind: 'duplicate',
        });
      }
      if (label === 'T18') {
        minutes += 6;
        rows.push({
          ...row,
          Radon: 7,
          'Standard uncertainty': 4,
          'Oxygen (%)': '',
          'Carbon dioxide (%)': '',
          'Suction (kPa)': '',
          Remark: 'bottled air; before the last row',
          'Taken (UTC)': clock(start, minutes).slice(0, 16).replace('T', ' '),
          Kind: 'blank',
        });
      }
    }
  }
  return {
    'samples.csv': `\uFEFF${writeTable(rows, {
      units: { Easting: 'ft', Northing: 'ft', Depth: 'in', Radon: 'pCi/L', 'Standard uncertainty': 'pCi/L' },
      delimiter: ';',
      decimal: ',',
      lineEnd: '\r\n',
      above: ['Field sheet of the troubled lot (invented data)', ''],
    })}\r\n`,
    'lot.csv': `Corner,Easting (ft),Northing (ft)\n${lot.map(([x, y], i) => `${i + 1},${x},${y}\n`).join('')}`,
    'project.json': writeJson({
      name: 'Troubled lot (invented)',
      note: 'Invented data. 24 probes on a taped grid in feet, read in pCi/L: two drew fresh air, three stood in water, three were stopped shallow, one place is high.',
      invented: true,
      crs: { kind: 'local', unit: 'ft', label: 'iron stake at the south-west corner' },
      schemeId: SCHEME,
      radonUnit: 'pCi/L',
      lotFile: 'lot.csv',
      samplesFile: 'samples.csv',
      footprint: { label: 'House', ring: house },
    }),
  };
}

/** As the crew's spreadsheet wrote it: thousands set off by a space. */
function grouped(value) {
  return String(Math.round(value)).replace(/\B(?=(\d{3})+$)/g, ' ');
}

/** JSON as the project's formatter leaves it: objects spread out, pairs of numbers and short rings on one line. */
function writeJson(value) {
  const pairs = JSON.stringify(value, null, 2).replace(/\[\s+(-?[\d.]+),\s+(-?[\d.]+)\s+\]/g, '[$1, $2]');
  const rings = pairs.replace(
    /"ring": \[\s+([^{}]*?)\s+\]\n/g,
    (_, ring) => `"ring": [${ring.replace(/\s*\n\s*/g, ' ')}]\n`,
  );
  return `${rings}\n`;
}

const folder = process.argv[2] ?? fileURLToPath(new URL('.', import.meta.url));
for (const [name, files] of Object.entries({
  'ordinary-lot': makeOrdinaryLot(),
  'troubled-lot': makeTroubledLot(),
})) {
  mkdirSync(join(folder, name), { recursive: true });
  for (const [file, text] of Object.entries(files)) writeFileSync(join(folder, name, file), text);
}

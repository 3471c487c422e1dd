/**
 * The whole study of the dilution flags on simulated campaigns: `node test/campaigns/study.ts [campaigns per row]`.
 * Writes the tables of docs/flags.md between its marks and the figure beside it. Seeds are held out: the limits were
 * set on others (20,000 to 40,100, from 700,000 and from 1,200,000).
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { drawFigure, type Line } from './figure.ts';
import { askOracle } from './oracle.ts';
import { judgeCampaign, judgeMany, judgeSimulated, type Rates, ratesOf } from './rates.ts';
import { type Campaign, drawCampaign, simulateCampaign } from './simulate.ts';
import { drawOther, OTHER_ROWS, simulateOther } from './simulate-other.ts';

const DOCS = new URL('../../docs/', import.meta.url);
const FIRST_SEED = 100_000;
const campaigns = Number(process.argv[2] ?? 120);
const lines: string[] = [];
const percent = (share: number) => (Number.isNaN(share) ? '' : (100 * share).toFixed(1));
let block = 0;

function rates(fixed: Partial<Campaign>, least: number, count = campaigns) {
  return ratesOf(judgeMany({ from: FIRST_SEED + 10_000 * block++, count }, fixed), least);
}

/** What the best test finds at 2 % false alarms in the same campaigns, by the share of outside air at least. */
const ORACLE_ALARMS = 0.02;

function oracleFinds(campaigns: readonly Campaign[], least: number): number {
  const leaky: number[] = [];
  const clean: number[] = [];
  for (const campaign of campaigns) {
    const sim = simulateCampaign(campaign);
    const ratios = askOracle(campaign, sim);
    for (const { sample, leak } of sim.samples) {
      const ratio = ratios.get(sample.id);
      if (ratio !== undefined && (leak === 0 || leak >= least)) (leak === 0 ? clean : leaky).push(ratio);
    }
  }
  clean.sort((a, b) => b - a);
  const limit = clean[Math.floor(ORACLE_ALARMS * clean.length)] ?? Number.NaN;
  return leaky.length === 0 ? Number.NaN : leaky.filter((r) => r > limit).length / leaky.length;
}

function headOf(head: string, hasOracle: boolean): string[] {
  return [
    `| ${head} | leaks | found, % |${hasOracle ? ' best test, % |' : ''} called diluted, % | clean | false alarms, % | clean called diluted, % |`,
    `|---|---:|---:|${hasOracle ? '---:|' : ''}---:|---:|---:|---:|`,
  ];
}

function rowOf(name: string, r: Rates, oracle: number | null): string {
  const best = oracle === null ? '' : ` ${percent(oracle)} |`;
  return `| ${name} | ${r.leaks} | ${percent(r.found)} |${best} ${percent(r.diluted)} | ${r.clean} | ${percent(r.falseAlarms)} | ${percent(r.falseDiluted)} |`;
}

function table(
  title: string,
  head: string,
  rows: readonly (readonly [string, Partial<Campaign>])[],
  least: number,
) {
  const hasOracle = rows.some(([, fixed]) => fixed.leakRate !== 0);
  lines.push(`**${title}**`, '', ...headOf(head, hasOracle));
  for (const [name, fixed] of rows) {
    const from = FIRST_SEED + 10_000 * block++;
    const drawn = Array.from({ length: campaigns }, (_, i) => drawCampaign(from + i, fixed));
    const judged = ratesOf(
      drawn.flatMap((c) => judgeCampaign(c)),
      least,
    );
    lines.push(rowOf(name, judged, hasOracle ? oracleFinds(drawn, least) : null));
    process.stderr.write(`${title}: ${name}\n`);
  }
  lines.push('');
}

const still = { breathingGsd: 1 };
table(
  'Leaks of 30 % and more (even from 30 to 100 %) with oxygen or carbon dioxide read',
  'read; ground gases from hole to hole (GSD)',
  (['both', 'oxygen', 'carbon dioxide'] as const).flatMap((gases) =>
    [1.1, 1.3, 1.6].map(
      (gasGsd) => [`${gases}; ${gasGsd}`, { gases, gasGsd, leak: [0.3, 1], ...still }] as const,
    ),
  ),
  0.3,
);
table(
  'The same where looser ground breathes, so that radon, gases and suction are low together (GSD 1.2)',
  'read; ground gases from hole to hole (GSD)',
  [1.1, 1.3].map(
    (gasGsd) => [`both; ${gasGsd}`, { gases: 'both', gasGsd, leak: [0.3, 1], breathingGsd: 1.2 }] as const,
  ),
  0.3,
);
table(
  'Leaks of 60 % and more (even from 60 to 100 %) without any tracer: neighbours, suction and repeats',
  'radon scatter within the lot',
  [1.3, 1.5, 2, 3].map((gsd) => [`GSD ${gsd}`, { gases: 'none', gsd, leak: [0.6, 1] }] as const),
  0.6,
);
table(
  'The same leaks by radon alone',
  'radon scatter within the lot',
  [1.3, 1.5, 2, 3].map(
    (gsd) => [`GSD ${gsd}`, { gases: 'none', gsd, leak: [0.6, 1], suction: false, repeatRate: 0 }] as const,
  ),
  0.6,
);
table(
  'Lots without any leak',
  'lot',
  [
    ['any, gases read', { leakRate: 0 }],
    ['any, no gases', { leakRate: 0, gases: 'none' }],
    ['15 probes, no gases', { leakRate: 0, gases: 'none', probeCount: 15 }],
    ['radon 3.4 times higher at one end', { leakRate: 0, gases: 'none', gsd: 1.3, trendRatio: 3.4 }],
    [
      'radon 3.4 times higher, hardly any scatter',
      { leakRate: 0, gases: 'none', gsd: 1.1, trendRatio: 3.4, suction: false },
    ],
    ['two soils', { leakRate: 0, gases: 'none', soils: 2 }],
    ['one suction in five from a loose lens', { leakRate: 0, gases: 'none', lensRate: 0.2 }],
    ['samples take over 5 % of the one before', { leakRate: 0, gases: 'none', carryOver: 0.05 }],
  ],
  1,
);

const quiet = judgeMany(
  { from: FIRST_SEED + 900_000, count: 2 * campaigns },
  { leakRate: 0, probeCount: 15 },
);
const lots = new Map<number, number>();
for (const j of quiet) lots.set(j.seed, (lots.get(j.seed) ?? 0) + (j.finding === 'none' ? 0 : 1));
const alarmed = [...lots.values()].filter((n) => n > 0).length / lots.size;
lines.push(
  `A clean lot of 15 probes (gases read) raises ${(quiet.filter((j) => j.finding !== 'none').length / lots.size).toFixed(2)} false alarms on average; ${percent(alarmed)} % of such lots raise at least one.`,
  '',
);

lines.push('**The second simulator, seeds never looked at before**', '', ...headOf('ground and crew', false));
for (const [name, fixed, least] of OTHER_ROWS) {
  const from = FIRST_SEED + 10_000 * block++;
  const judged = Array.from({ length: campaigns }, (_, i) =>
    judgeSimulated(simulateOther(drawOther(from + i, fixed)), from + i),
  );
  lines.push(rowOf(name, ratesOf(judged.flat(), least), null));
  process.stderr.write(`second simulator: ${name}\n`);
}
lines.push('');

const sizes = [0.1, 0.3, 0.5, 0.7, 0.9, 0.99];
const figure: Line[] = [];
lines.push('**Found (suspect or diluted), %, by share of outside air**', '');
lines.push(`| signs; radon scatter | ${sizes.map((s) => `${Math.round(100 * s)} %`).join(' | ')} |`);
lines.push(`|---|${sizes.map(() => '---:').join('|')}|`);
for (const gases of ['none', 'both'] as const) {
  for (const gsd of [1.3, 1.5, 2, 3]) {
    const found = sizes.map(
      (s) =>
        rates(
          { gases, gsd, gasGsd: 1.2, leak: [s, s], leakRate: 0.15, ...still },
          s,
          Math.ceil(campaigns / 2),
        ).found,
    );
    figure.push({ gsd, gases, points: sizes.map((s, i) => [s, found[i] ?? Number.NaN] as const) });
    lines.push(
      `| ${gases === 'none' ? 'no gases' : 'oxygen and carbon dioxide'}; GSD ${gsd} | ${found.map(percent).join(' | ')} |`,
    );
    process.stderr.write(`figure: ${gases} GSD ${gsd}\n`);
  }
}

lines.push('', '**No gases, radon GSD 1.5, the same seeds in each row: flow and carry-over**', '');
lines.push(...headOf('pump and system', false));
const last = { from: FIRST_SEED + 10_000 * block, count: 2 * campaigns };
for (const [name, fixed] of [
  ['one flow', {}],
  ['flow set by hand, 80 to 250 mL/min, not noted', { flow: 'by hand' }],
  ['the same, noted', { flow: 'by hand, noted' }],
  ['one flow, 5 % of each sample left in the next', { carryOver: 0.05 }],
] as const satisfies readonly (readonly [string, Partial<Campaign>])[]) {
  const judged = judgeMany(last, { gases: 'none', gsd: 1.5, leak: [0.6, 1], carryOver: 0, ...fixed });
  lines.push(rowOf(name, ratesOf(judged, 0.6), null));
  process.stderr.write(`flow and carry-over: ${name}\n`);
}

const path = new URL('flags.md', DOCS);
const text = readFileSync(path, 'utf8');
const [before, , after] = text.split(/<!-- study: begin -->|<!-- study: end -->/);
if (before === undefined || after === undefined)
  throw new Error('docs/flags.md has lost the marks of the study');
const run = `Run with ${campaigns} campaigns a row (half as many a point of the figure): \`node test/campaigns/study.ts ${campaigns}\`.`;
writeFileSync(
  path,
  `${before}<!-- study: begin -->\n\n${run}\n\n${lines.join('\n')}\n\n<!-- study: end -->${after}`,
);
writeFileSync(new URL('flags-detection.svg', DOCS), drawFigure(figure));

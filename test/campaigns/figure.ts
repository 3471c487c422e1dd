/** Detection against share of outside air, as a plain SVG. */
export interface Line {
  readonly gsd: number;
  readonly gases: 'none' | 'both';
  readonly points: readonly (readonly [share: number, found: number])[];
}

const WIDTH = 640;
const HEIGHT = 400;
const LEFT = 60;
const BOTTOM = 52;
const TOP = 16;
const PLOT_W = 420;
const PLOT_H = HEIGHT - TOP - BOTTOM;
/** Dark to light with scatter: the lines stay apart in grey. */
const INKS = ['#131d26', '#5a2d91', '#0a5c8f', '#8a4f00'] as const;

export function drawFigure(lines: readonly Line[]): string {
  const x = (share: number) => LEFT + share * PLOT_W;
  const y = (found: number) => TOP + (1 - found) * PLOT_H;
  const parts: string[] = [];
  for (let i = 0; i <= 10; i += 2) {
    parts.push(
      `<line x1="${LEFT}" y1="${y(i / 10)}" x2="${LEFT + PLOT_W}" y2="${y(i / 10)}" stroke="#d5d8d6"/>`,
    );
    parts.push(`<text x="${LEFT - 8}" y="${y(i / 10) + 4}" text-anchor="end">${10 * i}</text>`);
    parts.push(`<text x="${x(i / 10)}" y="${HEIGHT - BOTTOM + 18}" text-anchor="middle">${10 * i}</text>`);
  }
  parts.push(
    `<text x="${LEFT + PLOT_W / 2}" y="${HEIGHT - 12}" text-anchor="middle">Outside air in the sample, %</text>`,
  );
  parts.push(
    `<text transform="translate(16 ${TOP + PLOT_H / 2}) rotate(-90)" text-anchor="middle">Found (suspect or diluted), %</text>`,
  );
  const gsds = [...new Set(lines.map((l) => l.gsd))];
  for (const line of lines) {
    const ink = INKS[gsds.indexOf(line.gsd)] ?? INKS[0];
    const dash = line.gases === 'none' ? '' : ' stroke-dasharray="6 4"';
    const path = line.points.map(
      ([s, f], i) => `${i === 0 ? 'M' : 'L'}${x(s).toFixed(1)} ${y(f).toFixed(1)}`,
    );
    parts.push(`<path d="${path.join(' ')}" fill="none" stroke="${ink}" stroke-width="2"${dash}/>`);
  }
  let row = TOP + 14;
  for (const line of lines) {
    const ink = INKS[gsds.indexOf(line.gsd)] ?? INKS[0];
    const dash = line.gases === 'none' ? '' : ' stroke-dasharray="6 4"';
    const at = LEFT + PLOT_W + 14;
    parts.push(
      `<line x1="${at}" y1="${row - 4}" x2="${at + 26}" y2="${row - 4}" stroke="${ink}" stroke-width="2"${dash}/>`,
    );
    parts.push(
      `<text x="${at + 32}" y="${row}">GSD ${line.gsd}${line.gases === 'none' ? '' : ', O2, CO2'}</text>`,
    );
    row += 20;
  }
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${HEIGHT}" font-family="sans-serif" font-size="12" fill="#131d26">
<title>Share of diluted samples that the flags find, by share of outside air and radon scatter within the lot</title>
<rect width="${WIDTH}" height="${HEIGHT}" fill="#ffffff"/>
${parts.join('\n')}
</svg>
`;
}

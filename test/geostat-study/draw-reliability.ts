/** Reliability plot as SVG: what was said against what came true. */
interface Bin {
  readonly predicted: number;
  readonly observed: number;
  readonly count: number;
}

const SIZE = 320;
const MARGIN = 48;

export function drawReliability(averaged: readonly Bin[], single: readonly Bin[], lots: number): string {
  const x = (p: number) => MARGIN + p * SIZE;
  const y = (p: number) => MARGIN + (1 - p) * SIZE;
  const ticks = [0, 0.2, 0.4, 0.6, 0.8, 1];
  const line = (bins: readonly Bin[], style: string) =>
    `<polyline fill="none" ${style} points="${bins.map((b) => `${x(b.predicted).toFixed(1)},${y(b.observed).toFixed(1)}`).join(' ')}"/>`;
  const dots = averaged.map((b) => `<circle cx="${x(b.predicted).toFixed(1)}" cy="${y(b.observed).toFixed(1)}" r="4" fill="#1b5e8a"/>`); // biome-ignore format: one line
  const squares = single.map((b) => `<rect x="${(x(b.predicted) - 3.5).toFixed(1)}" y="${(y(b.observed) - 3.5).toFixed(1)}" width="7" height="7" fill="none" stroke="#a1531c" stroke-width="1.5"/>`); // biome-ignore format: one line
  const width = SIZE + 2 * MARGIN;
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${width + 10}" width="${width}" font-family="sans-serif" font-size="12" fill="#222">
<title>Probability of a value above a limit at unseen places: stated against observed, ${lots} invented lots</title>
<rect width="100%" height="100%" fill="#fff"/>
<rect x="${MARGIN}" y="${MARGIN}" width="${SIZE}" height="${SIZE}" fill="none" stroke="#888"/>
<line x1="${x(0)}" y1="${y(0)}" x2="${x(1)}" y2="${y(1)}" stroke="#888" stroke-dasharray="4 4"/>
${ticks.map((t) => `<text x="${x(t)}" y="${y(0) + 16}" text-anchor="middle">${t}</text><text x="${x(0) - 8}" y="${y(t) + 4}" text-anchor="end">${t}</text>`).join('\n')}
${line(single, 'stroke="#a1531c" stroke-width="1.2" stroke-dasharray="6 3"')}
${squares.join('\n')}
${line(averaged, 'stroke="#1b5e8a" stroke-width="1.6"')}
${dots.join('\n')}
<text x="${x(0.5)}" y="${y(0) + 34}" text-anchor="middle">stated probability above the limit</text>
<text transform="translate(14 ${y(0.5)}) rotate(-90)" text-anchor="middle">share that was above it</text>
<text x="${x(0.04)}" y="${y(0.95)}" fill="#1b5e8a">dots: models averaged</text>
<text x="${x(0.04)}" y="${y(0.89)}" fill="#a1531c">squares: the single best model</text>
</svg>
`;
}

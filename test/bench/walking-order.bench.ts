/**
 * Gap of the walk to its lower bound, and time: probes at random and on a crooked grid, 20 lots each.
 * Run: node test/bench/walking-order.bench.ts
 */
import { randomStream } from '../../core/classify/random.ts';
import type { PositionM } from '../../core/contract/model.ts';
import { planRoute } from '../../core/plan/walking-order.ts';

const quiet = { stopped: () => false, progress: () => {} };
for (const [count, lots] of [
  [15, 20],
  [30, 20],
  [60, 20],
  [200, 5],
  [1000, 1],
  [2000, 1],
] as const) {
  for (const kind of ['at random', 'crooked grid'] as const) {
    const gaps: number[] = [];
    let ms = 0;
    for (let lot = 0; lot < lots; lot++) {
      const random = randomStream(lot, count);
      const side = Math.ceil(Math.sqrt(count));
      const probes = Array.from(
        { length: count },
        (_, k): PositionM =>
          kind === 'at random'
            ? [60 * random.uniform(), 40 * random.uniform()]
            : [(k % side) * 5 + random.normal() * 0.7, Math.floor(k / side) * 5 + random.normal() * 0.7],
      );
      const cpu = process.cpuUsage();
      gaps.push(planRoute([-5, -5], probes, quiet).gap);
      ms += process.cpuUsage(cpu).user / 1000 / lots;
    }
    gaps.sort((a, b) => a - b);
    const pct = (p: number) => (100 * (gaps[Math.floor(p * (gaps.length - 1))] as number)).toFixed(2);
    console.log(
      `${count} ${kind}: gap median ${pct(0.5)} %, most ${pct(1)} %; ${ms.toFixed(0)} ms processor each`,
    );
  }
}

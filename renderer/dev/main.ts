/** Entry of the development page: the window on a mock bridge, set by the address (`?open&slow=2000&fail=lot.set`). */
import type { RequestName } from '../../core/contract/requests.ts';
import { createMockBridge } from './mock-bridge.ts';

const query = new URLSearchParams(location.search);
Object.defineProperty(window, 'gasplat', {
  value: createMockBridge({
    open: query.has('open'),
    columns: Number(query.get('columns') ?? 5),
    slowMs: Number(query.get('slow') ?? 60),
    failing: (query.get('fail') ?? '').split(',').filter((name) => name !== '') as RequestName[],
  }),
});
await import('../main.tsx');

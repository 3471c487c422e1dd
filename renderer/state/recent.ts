/** Projects opened before on this computer, the latest first: kept by the window, in no project. */

export interface RecentProject {
  readonly path: string;
  readonly name: string;
}

/** What of the browser's storage is used; null where there is none. */
export type KeptTexts = Pick<Storage, 'getItem' | 'setItem'> | null;

const KEY = 'recent-projects';
const MOST = 5;

export function readRecent(kept: KeptTexts): readonly RecentProject[] {
  try {
    const list: unknown = JSON.parse(kept?.getItem(KEY) ?? '[]');
    return Array.isArray(list) ? list.filter(isRecent).slice(0, MOST) : [];
  } catch {
    // What cannot be read is no more than a list that begins anew.
    return [];
  }
}

export function keepRecent(kept: KeptTexts, recent: readonly RecentProject[]): void {
  try {
    kept?.setItem(KEY, JSON.stringify(recent));
  } catch {
    // A full or forbidden storage costs the list, not the project.
  }
}

export function withRecent(
  recent: readonly RecentProject[],
  { path, name }: RecentProject,
): readonly RecentProject[] {
  return [{ path, name }, ...withoutRecent(recent, path)].slice(0, MOST);
}

export function withoutRecent(recent: readonly RecentProject[], path: string): readonly RecentProject[] {
  return recent.filter((one) => one.path !== path);
}

function isRecent(value: unknown): value is RecentProject {
  const one = value as Partial<RecentProject> | null;
  return typeof one?.path === 'string' && typeof one.name === 'string';
}

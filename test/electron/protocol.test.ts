import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { CONTENT_SECURITY_POLICY, fileForUrl, mayLoad, serveFolder } from '../../electron/protocol.ts';

const folder = mkdtempSync(join(tmpdir(), 'gasplat-protocol-'));
writeFileSync(join(folder, 'index.html'), '<p>here</p>');
writeFileSync(join(folder, 'part one.mjs'), 'export {};');
writeFileSync(join(folder, 'notes.txt'), 'of a kind not served');
afterAll(() => rmSync(folder, { recursive: true }));

describe('addresses', () => {
  test('ours name files in the folder', () => {
    expect(fileForUrl(folder, 'app://bundle/index.html')).toBe(join(folder, 'index.html'));
    expect(fileForUrl(folder, 'app://bundle/part%20one.mjs?v=1#top')).toBe(join(folder, 'part one.mjs'));
    expect(fileForUrl(folder, 'app://bundle/assets/x.js')).toBe(resolve(folder, 'assets/x.js'));
  });

  test.each([
    'app://bundle',
    'app://bundle/',
    'app://other/index.html',
    'app://bundle.other/index.html',
    'app://bundle@other/index.html',
    'file:///etc/passwd',
    'https://bundle/index.html',
    'app://bundle/..%2f..%2fetc/passwd',
    'app://bundle/%2e%2e%2f%2e%2e%2fetc%2fpasswd',
    'app://bundle/assets/..%2F..%2F..%2Fetc/passwd',
    'app://bundle/..%5c..%5cwindows%5cwin.ini',
    'app://bundle/c:%5cwindows%5cwin.ini',
    'app://bundle/%00index.html',
    'app://bundle/%E0%A4%A',
  ])('%s is refused', (url) => {
    expect(fileForUrl(folder, url)).toBeNull();
  });

  test('plain dots are resolved by the address itself and stay inside', () => {
    expect(fileForUrl(folder, 'app://bundle/../../etc/passwd')).toBe(resolve(folder, 'etc/passwd'));
  });

  test('nothing that leaves the machine may load', () => {
    for (const url of [
      'app://bundle/x.js',
      'data:image/png;base64,AA',
      'blob:app://bundle/1',
      'devtools://devtools/x',
    ]) {
      expect(mayLoad(url)).toBe(true);
    }
    const outside = ['https://example.org/', 'http://127.0.0.1/', 'ws://example.org/', 'file:///etc/passwd'];
    for (const url of [...outside, 'ftp://example.org/', 'app://other/x', 'app://bundle.example.org/x']) {
      expect(mayLoad(url)).toBe(false);
    }
  });
});

describe('answers', () => {
  const serve = serveFolder(folder);

  test('carry type, policy and nosniff', async () => {
    const page = await serve(new Request('app://bundle/index.html'));
    expect(page.status).toBe(200);
    expect(await page.text()).toBe('<p>here</p>');
    expect(page.headers.get('content-type')).toBe('text/html; charset=utf-8');
    expect(page.headers.get('content-security-policy')).toBe(CONTENT_SECURITY_POLICY);
    expect(page.headers.get('x-content-type-options')).toBe('nosniff');
    const script = await serve(new Request('app://bundle/part%20one.mjs'));
    expect(script.headers.get('content-type')).toContain('text/javascript');
  });

  test('refuse what is missing, of another kind, or not a plain read', async () => {
    expect((await serve(new Request('app://bundle/missing.js'))).status).toBe(404);
    expect((await serve(new Request('app://bundle/notes.txt'))).status).toBe(404);
    expect((await serve(new Request('app://bundle/index.html', { method: 'POST' }))).status).toBe(405);
  });

  test('the policy allows no code but our files, and no address but ours', () => {
    const directives = new Map(
      CONTENT_SECURITY_POLICY.split('; ').map((part) => {
        const [name = '', ...sources] = part.split(' ');
        return [name, sources.join(' ')] as const;
      }),
    );
    expect(directives.get('default-src')).toBe("'none'");
    expect(directives.get('script-src')).toBe("'self'");
    expect(directives.get('connect-src')).toBe("'self'");
    expect(CONTENT_SECURITY_POLICY).not.toMatch(/unsafe|\*|https?:/);
  });
});

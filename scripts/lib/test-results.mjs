/**
 * Counts out of the runners' JSON reports. A test that was meant to run and did not counts as failed.
 *
 * @typedef {object} Counts
 * @property {number} passed
 * @property {number} failed
 * @property {number} skipped left out by the test itself, with a reason
 */

/** @returns {Counts} */
export function noCounts() {
  return { passed: 0, failed: 0, skipped: 0 };
}

/**
 * @param {readonly Counts[]} all
 * @returns {Counts}
 */
export function sumCounts(all) {
  return all.reduce(
    (sum, { passed, failed, skipped }) => ({
      passed: sum.passed + passed,
      failed: sum.failed + failed,
      skipped: sum.skipped + skipped,
    }),
    noCounts(),
  );
}

/**
 * @typedef {object} VitestReport
 * @property {{ status: string, assertionResults: { status: string }[] }[]} testResults one per file
 *
 * @param {VitestReport} report
 * @param {number} exitCode of the runner
 * @returns {Counts}
 */
export function countVitest(report, exitCode) {
  const counts = noCounts();
  for (const file of report.testResults) {
    // A file that could not be loaded has no tests to fail.
    if (file.status === 'failed' && !file.assertionResults.some(({ status }) => status === 'failed'))
      counts.failed += 1;
    for (const { status } of file.assertionResults) {
      if (status === 'passed') counts.passed += 1;
      else if (status === 'failed') counts.failed += 1;
      else counts.skipped += 1;
    }
  }
  return withCrash(counts, exitCode);
}

/**
 * @typedef {object} PlaywrightTest
 * @property {string} expectedStatus
 * @property {string} status 'expected', 'unexpected', 'flaky' or 'skipped'
 *
 * @typedef {object} PlaywrightSuite
 * @property {PlaywrightSuite[]} [suites]
 * @property {{ tests: PlaywrightTest[] }[]} [specs]
 *
 * @typedef {object} PlaywrightReport
 * @property {PlaywrightSuite[]} suites
 * @property {unknown[]} [errors] those outside any test
 *
 * @param {PlaywrightReport} report
 * @param {number} exitCode of the runner
 * @returns {Counts}
 */
export function countPlaywright(report, exitCode) {
  const counts = noCounts();
  for (const { status, expectedStatus } of playwrightTests(report.suites)) {
    if (status === 'expected') counts.passed += 1;
    else if (status === 'skipped' && expectedStatus === 'skipped') counts.skipped += 1;
    // Also 'flaky', and 'skipped' against the will of the test: it never ran, as after a failed preparation.
    else counts.failed += 1;
  }
  counts.failed += report.errors?.length ?? 0;
  return withCrash(counts, exitCode);
}

/**
 * How many tests there are to fail; a file that cannot even be listed counts as one.
 * @param {PlaywrightReport} report of a listing, in which nothing ran
 */
export function countListed(report) {
  return playwrightTests(report.suites).length + (report.errors?.length ?? 0);
}

/**
 * @param {readonly PlaywrightSuite[]} suites
 * @returns {PlaywrightTest[]}
 */
function playwrightTests(suites) {
  return suites.flatMap(({ suites: inner = [], specs = [] }) => [
    ...specs.flatMap(({ tests }) => tests),
    ...playwrightTests(inner),
  ]);
}

/**
 * @param {Counts} counts
 * @param {number} exitCode
 * @returns {Counts}
 */
function withCrash(counts, exitCode) {
  return exitCode !== 0 && counts.failed === 0 ? { ...counts, failed: 1 } : counts;
}

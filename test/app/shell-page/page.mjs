/** What the shell told this page, for the test to read. */
window.seen = { events: [], violations: [], evaluated: tryToEvaluate() };
window.gasplat.onEvent((event) => window.seen.events.push(event));
document.addEventListener('securitypolicyviolation', (event) =>
  window.seen.violations.push(event.effectiveDirective),
);

/** Here, because what a test evaluates from outside is not bound by the page's policy. */
function tryToEvaluate() {
  try {
    return String(new Function('return "evaluated"')());
  } catch (error) {
    return error.name;
  }
}

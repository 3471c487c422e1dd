import { spawn } from 'node:child_process';
import { constants } from 'node:os';
import { setTimeout as wait } from 'node:timers/promises';
import { say } from './say.mjs';

const KEPT_CHARACTERS = 20_000;

/**
 * @typedef {object} Outcome
 * @property {number} code exit code; 1 where the program could not be started or was ended by a signal
 * @property {string} output the last 20,000 characters of stdout and stderr together
 */

/**
 * Runs a program without stdin, so that nothing can wait for an answer that never comes.
 * @param {string} command
 * @param {readonly string[]} args
 * @param {{ cwd?: string, env?: NodeJS.ProcessEnv, shell?: boolean, show?: boolean, task?: string, limitS?: number }} [options]
 *   show: pass the output on while it runs; task: name of a long step, repeated with the seconds gone
 * @returns {Promise<Outcome>}
 */
export function run(command, args, options = {}) {
  const { cwd, env = process.env, shell = false, show = false, task, limitS } = options;
  return new Promise((resolve) => {
    let output = '';
    const started = Date.now();
    const seconds = () => Math.round((Date.now() - started) / 1000);
    const child = spawn(command, args, { cwd, env, shell, stdio: ['ignore', 'pipe', 'pipe'] });
    /** @type {NodeJS.Timeout[]} */
    const timers = [];
    if (task !== undefined) timers.push(setInterval(() => say(`  ... ${task}, ${seconds()} s`), 10_000));
    if (limitS !== undefined) {
      timers.push(
        setTimeout(() => {
          output += `\nstopped after ${limitS} s without an end`;
          child.kill('SIGKILL');
        }, limitS * 1000),
      );
    }
    /** @param {number} code */
    const finish = (code) => {
      for (const timer of timers) clearInterval(timer);
      resolve({ code, output });
    };
    for (const [stream, target] of /** @type {const} */ ([
      [child.stdout, process.stdout],
      [child.stderr, process.stderr],
    ])) {
      stream.setEncoding('utf8');
      stream.on('data', (/** @type {string} */ chunk) => {
        output = (output + chunk).slice(-KEPT_CHARACTERS);
        if (show) target.write(chunk);
      });
    }
    child.on('error', (error) => {
      output += `\n${error.message}`;
      finish(1);
    });
    child.on('close', (code) => finish(code ?? 1));
  });
}

/**
 * Repeats what can fail for a moment (a download), with a longer pause each time.
 * @param {number} tries
 * @param {() => Promise<Outcome>} attempt
 * @param {(outcome: Outcome, tryNumber: number) => void} onFailure
 * @param {number} [pauseMs]
 * @returns {Promise<Outcome>} the first good outcome, or the last bad one
 */
export async function retry(tries, attempt, onFailure, pauseMs = 1000) {
  for (let tryNumber = 1; ; tryNumber += 1) {
    const outcome = await attempt();
    if (outcome.code === 0) return outcome;
    onFailure(outcome, tryNumber);
    if (tryNumber >= tries) return outcome;
    await wait(pauseMs * tryNumber);
  }
}

/** @type {NodeJS.Signals[]} */
const PASSED_SIGNALS = ['SIGINT', 'SIGTERM', 'SIGHUP'];

/**
 * Lets a child take this process's place: same streams, signals passed on.
 * @param {string} command
 * @param {readonly string[]} args
 * @param {{ cwd?: string, env?: NodeJS.ProcessEnv }} [options]
 * @returns {Promise<number>} exit code; 128 + number where a signal ended the child
 */
export function relay(command, args, options = {}) {
  return new Promise((resolve, reject) => {
    const child = spawn(command, args, { ...options, stdio: 'inherit' });
    // A terminal sends Ctrl-C to both processes; the child decides what it means, we wait for its end.
    /** @type {[NodeJS.Signals, () => void][]} */
    const handlers = PASSED_SIGNALS.map((signal) => [
      signal,
      () => {
        const fromTerminal = signal === 'SIGINT' && process.stdin.isTTY === true;
        if (!fromTerminal) child.kill(signal);
      },
    ]);
    for (const [signal, handler] of handlers) process.on(signal, handler);
    const settle = () => {
      for (const [signal, handler] of handlers) process.off(signal, handler);
    };
    child.on('error', (error) => {
      settle();
      reject(error);
    });
    child.on('close', (code, signal) => {
      settle();
      resolve(code ?? 128 + (signal === null ? 0 : constants.signals[signal]));
    });
  });
}

/**
 * The last lines of a program's output, indented, for a failure message.
 * @param {string} output
 * @param {number} [lines]
 */
export function tail(output, lines = 12) {
  const kept = output.trim().split('\n').slice(-lines);
  return kept.map((line) => `    ${line}`).join('\n');
}

/**
 * The one line of a program's output that says what went wrong: its first that speaks of an error, else its last.
 * @param {string} output
 */
export function reasonIn(output) {
  const lines = output.trim().split('\n');
  return (lines.find((line) => /error|failed|stopped after/i.test(line)) ?? lines.at(-1) ?? '').trim();
}

import { spawn } from 'node:child_process';
import { dirname } from 'node:path';
import { fileURLToPath } from 'node:url';

/** The project's folder. */
export const root = dirname(dirname(dirname(fileURLToPath(import.meta.url))));

/**
 * Runs a program to its end, its output on the screen.
 * @param {string} command
 * @param {string[]} args
 * @param {{ minutes?: number, env?: Record<string, string> }} [options] after so many minutes it is stopped, and failed
 * @returns {Promise<number>} its exit status
 */
export function runProgram(command, args, { minutes = 10, env = {} } = {}) {
  return new Promise((done) => {
    const child = spawn(command, args, {
      cwd: root,
      stdio: ['ignore', 'inherit', 'inherit'],
      env: { ...process.env, ...env },
      detached: process.platform !== 'win32',
    });
    const stop = () => {
      try {
        process.kill(-child.pid, 'SIGKILL');
      } catch {
        child.kill('SIGKILL');
      }
    };
    const timer = setTimeout(() => {
      console.error(`${command} ${args.join(' ')} took more than ${minutes} minutes and was stopped.`);
      stop();
    }, minutes * 60_000);
    const stopAll = () => {
      stop();
      process.exit(1);
    };
    for (const signal of ['SIGINT', 'SIGTERM']) process.once(signal, stopAll);
    child.on('error', (error) => {
      console.error(error.message);
    });
    child.on('close', (status) => {
      clearTimeout(timer);
      for (const signal of ['SIGINT', 'SIGTERM']) process.removeListener(signal, stopAll);
      done(status ?? 1);
    });
  });
}

// `npm start`: installs what is missing, builds what has changed, starts the server and opens the page.
import { spawn } from 'node:child_process';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { buildWhenNeeded, installWhenNeeded, requireNode20, root } from './build-when-needed.mjs';

const usage = `npm start -- [--no-open] [--home-network] [--port N]
  --no-open       do not open the browser
  --home-network  let phones and other devices of the home network in, each with a pairing code
  --port N        use this port (or set PORT); without it 4870 or the next free one
`;

requireNode20();
const options = process.argv.slice(2);
const unknown = options.filter(
  (o, i) => !['--no-open', '--home-network', '--port', '--help'].includes(o) && options[i - 1] !== '--port',
);
if (options.includes('--help') || unknown.length > 0) {
  process.stderr.write(unknown.length > 0 ? `“${unknown[0]}” is not an option here.\n${usage}` : usage);
  process.exit(unknown.length > 0 ? 2 : 0);
}

await installWhenNeeded();
if (!(await buildWhenNeeded(['server', 'web']))) {
  process.stderr.write('The program could not be built; the lines above say why.\n');
  process.exit(1);
}

/** Best effort: a machine without a browser, or without a screen, is no fault. */
function openBrowser(address) {
  const noScreen = process.platform === 'linux' && !process.env.DISPLAY && !process.env.WAYLAND_DISPLAY;
  if (noScreen || options.includes('--no-open')) return;
  const [command, ...before] =
    process.platform === 'darwin' ? ['open'] : process.platform === 'win32' ? ['cmd', '/c', 'start', ''] : ['xdg-open'];
  const opener = spawn(command, [...before, address], { stdio: 'ignore', detached: true });
  opener.on('error', () => {});
  opener.unref();
}

const portText = options.includes('--port') ? options[options.indexOf('--port') + 1] : process.env.PORT;
const { startServer } = await import(pathToFileURL(join(root, '.build/server/main.js')).href);
const started = await startServer({
  homeNetwork: options.includes('--home-network'),
  port: portText === undefined || portText === '' ? null : Number(portText),
});
if (!started.ok) {
  process.stderr.write(`${started.line}\n`);
  process.exit(1);
}
process.stdout.write(`Gapwright is ready at ${started.address}\n${started.note}Press Ctrl+C to stop it.\n`);
openBrowser(started.address);

for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP']) {
  process.once(signal, () => {
    process.once(signal, () => process.exit(1));
    started.close().then(() => process.exit(0));
  });
}

import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { runProgram } from './run-program.mjs';

const answers = (command, args) => spawnSync(command, args, { stdio: 'ignore' }).status === 0;
const isThere = (command) => answers(process.platform === 'win32' ? 'where' : 'which', [command]);
const pythonHas = (module) =>
  answers('/usr/bin/python3', ['-c', `import ${module}`]) || answers('python3', ['-c', `import ${module}`]);

/** Programs that tests use as independent readers and as the browser: package, what it is for, whether it is there. */
const packages = [
  {
    name: 'chromium',
    use: 'the browser tests',
    present: () => isThere('chromium') || isThere('google-chrome') || Boolean(process.env.CHROMIUM),
  },
  { name: 'poppler-utils', use: 'reading PDF pages', present: () => isThere('pdftoppm') && isThere('pdftotext') },
  { name: 'python3-opencv', use: 'an independent marker reader and lens model', present: () => pythonHas('cv2') },
  {
    name: 'opencv-doc',
    use: 'real photographs with published results',
    present: () => existsSync('/usr/share/doc/opencv-doc'),
  },
  {
    name: 'apriltag',
    use: 'an independent marker reader',
    present: () => isThere('apriltag'),
  },
  { name: 'python3-ezdxf', use: 'an independent DXF reader', present: () => pythonHas('ezdxf') },
];

/**
 * Installs the programs that tests use beside Node.js where this can be done without asking: on Debian, as root. Says
 * what is missing; the tests that need it skip themselves and are counted as skipped.
 */
export async function installDebianPackages() {
  const missing = packages.filter((p) => !p.present());
  if (missing.length === 0) return;
  const debianRoot = existsSync('/etc/debian_version') && process.getuid?.() === 0 && isThere('apt-get');
  if (debianRoot) {
    console.log(`Installing ${missing.map((p) => p.name).join(', ')} …`);
    const env = { DEBIAN_FRONTEND: 'noninteractive' };
    await runProgram('apt-get', ['update', '-qq'], { minutes: 5, env });
    // One by one: a package that cannot be had must not keep the others out.
    for (const { name } of missing) {
      await runProgram('apt-get', ['install', '-y', '-qq', '--no-install-recommends', name], { minutes: 10, env });
    }
  }
  for (const { name, use } of missing.filter((p) => !p.present())) {
    console.log(`Not there: ${name}, for ${use}. Tests that need it are skipped.`);
  }
}

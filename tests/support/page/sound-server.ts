/**
 * A sound server of the tests' own, whose output is its microphone: a true loop, through the browser's real output and its
 * real capture. What comes back is exact in level; how late it comes is anybody's guess, and moves now and then.
 *
 * PulseAudio: everything that plays goes into a null sink `spk`, whose monitor is the source `mic` (browsers hide monitors,
 * so it is copied by a remapping source). Its files are in a folder of its own, so a server of the system is not touched.
 */
import { spawn, spawnSync } from 'node:child_process';
import type { ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { findOnPath } from '../../../scripts/find-tool.mjs';

const RATE = 48_000;
const ANSWERS_MS = 10_000;
const TRY_EVERY_MS = 50;
const ENDS_MS = 3000;
/** Should nobody be left to end it, it ends by itself so long after its last client has gone. */
const IDLE_SECONDS = 20;

/** Programs without which there is no sound server. */
export const SOUND_SERVER_TOOLS = ['pulseaudio', 'pactl'] as const;

export class SoundServer {
  /** For the variable PULSE_SERVER of those who are to use it. */
  readonly address: string;
  readonly #folder: string;
  readonly #server: ChildProcess;

  private constructor(folder: string, server: ChildProcess, address: string) {
    this.#folder = folder;
    this.#server = server;
    this.address = address;
  }

  /**
   * @param extraMs of delay between output and microphone, as a slow interface has, ms
   * @throws where it does not answer, with what it said
   */
  static async start(extraMs = 0): Promise<SoundServer> {
    const folder = mkdtempSync(path.join(tmpdir(), 'manyhand-sound-'));
    const socket = `${folder}/native`;
    writeFileSync(`${folder}/loop.pa`, script(socket, extraMs));
    writeFileSync(`${folder}/daemon.conf`, CONFIGURATION);
    const args = ['-n', '-F', `${folder}/loop.pa`, '--daemonize=no', `--exit-idle-time=${String(IDLE_SECONDS)}`];
    const plain = [
      '--use-pid-file=no',
      '--disable-shm=no',
      '--realtime=no',
      '--high-priority=no',
      '--log-target=stderr',
    ];
    const process = spawn('pulseaudio', [...args, ...plain], {
      env: ownEnvironment(folder),
      stdio: ['ignore', 'ignore', 'pipe'],
    });
    let said = '';
    process.stderr.on('data', (text: Buffer) => {
      said += text.toString();
    });
    const server = new SoundServer(folder, process, `unix:${socket}`);
    const endIt = (): void => {
      process.kill('SIGKILL');
    };
    globalThis.process.once('exit', endIt);
    process.once('exit', () => globalThis.process.off('exit', endIt));
    if (await server.#answers()) {
      server.#favour();
      return server;
    }
    await server.stop();
    throw new Error(`Got no answer from the sound server when expected its microphone. It said:\n${said}`);
  }

  async stop(): Promise<void> {
    if (this.#server.exitCode === null && this.#server.signalCode === null) {
      const ended = once(this.#server, 'exit');
      this.#server.kill();
      const gone = await Promise.race([ended.then(() => true), pause(ENDS_MS, false, { ref: false })]);
      if (!gone) {
        this.#server.kill('SIGKILL');
        await ended;
      }
    }
    rmSync(this.#folder, { recursive: true, force: true });
  }

  async #answers(): Promise<boolean> {
    const env = { ...process.env, PULSE_SERVER: this.address };
    for (let tried = 0; tried < ANSWERS_MS; tried += TRY_EVERY_MS) {
      if (this.#server.exitCode !== null) return false;
      const { stdout } = spawnSync('pactl', ['list', 'short', 'sources'], { env, encoding: 'utf8' });
      if (/\bmic\b/.test(stdout)) return true;
      await pause(TRY_EVERY_MS);
    }
    return false;
  }

  /** All its threads before others, where that is allowed: else the loop moves as soon as every core is busy. */
  #favour(): void {
    const pid = this.#server.pid;
    if (pid === undefined || findOnPath('chrt') === null) return;
    spawnSync('chrt', ['--all-tasks', '--rr', '--pid', '10', String(pid)], { stdio: 'ignore' });
  }
}

const CONFIGURATION = `default-sample-rate = ${String(RATE)}
alternate-sample-rate = ${String(RATE)}
default-sample-format = float32le
flat-volumes = no
`;

function script(socket: string, extraMs: number): string {
  const sink = (name: string): string =>
    `load-module module-null-sink sink_name=${name} rate=${String(RATE)} channels=2`;
  const delay = `latency_msec=${String(extraMs)} adjust_time=0 remix=no source_dont_move=true sink_dont_move=true`;
  const slow = [sink('slow'), `load-module module-loopback source=spk.monitor sink=slow ${delay}`];
  const heard = extraMs > 0 ? 'slow.monitor' : 'spk.monitor';
  return [
    `load-module module-native-protocol-unix auth-anonymous=1 socket=${socket}`,
    sink('spk'),
    'set-default-sink spk',
    ...(extraMs > 0 ? slow : []),
    `load-module module-remap-source master=${heard} source_name=mic source_properties=device.description=Loop`,
    'set-default-source mic',
    '',
  ].join('\n');
}

/** Nothing of the player's own set-up is read or written. */
function ownEnvironment(folder: string): NodeJS.ProcessEnv {
  return {
    PATH: process.env['PATH'],
    HOME: folder,
    PULSE_CONFIG: `${folder}/daemon.conf`,
    XDG_RUNTIME_DIR: folder,
    PULSE_RUNTIME_PATH: `${folder}/run`,
    PULSE_STATE_PATH: `${folder}/state`,
  };
}

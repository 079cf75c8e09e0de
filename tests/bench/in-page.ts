/** What runs in the page: layers through the browser's own graph, and the same layers through the built processor. */

export interface Job {
  /** The built processor. */
  readonly url: string;
  readonly layers: number;
  /** That are measured. */
  readonly seconds: number;
  readonly bodyFrames: number;
  readonly slabFrames: number;
  readonly slabs: number;
  readonly chunkFrames: number;
  /** The engine is stopped so often while it loads, each time after `stopBlocks` blocks. */
  readonly stops: number;
  readonly stopBlocks: number;
  readonly program: Readonly<Record<'voices' | 'strips' | 'stretches' | 'curves', number[]>>;
}

/** AudioBufferSourceNode → GainNode → StereoPannerNode for each layer, each with samples of its own. @returns ms */
export async function renderNative(job: Job): Promise<number> {
  const context = new OfflineAudioContext(2, job.seconds * 48_000, 48_000);
  for (let i = 0; i < job.layers; i++) {
    const buffer = context.createBuffer(1, job.bodyFrames, 48_000);
    buffer.getChannelData(0).fill(1 / (8 * job.layers));
    const source = new AudioBufferSourceNode(context, { buffer, loop: true });
    const level = new GainNode(context, { gain: 0.9 });
    const pan = new StereoPannerNode(context, { pan: (i / job.layers) * 2 - 1 });
    source.connect(level).connect(pan).connect(context.destination);
    source.start();
  }
  const begun = performance.now();
  await context.startRendering();
  return performance.now() - begun;
}

/**
 * The built processor with as many voices. It asks for its audio and copies it between blocks, so it is stopped again
 * and again until all of it is there; then it plays, and the clock is started.
 * @returns ms
 * @throws where the processor says that it failed, or is not ready after the last stop.
 */
export async function renderOurs(job: Job): Promise<number> {
  const loading = job.stops * job.stopBlocks * 128;
  const context = new OfflineAudioContext(2, loading + job.seconds * 48_000, 48_000);
  await context.audioWorklet.addModule(job.url);
  const node = new AudioWorkletNode(context, 'manyhand-engine', {
    outputChannelCount: [2],
    processorOptions: { sampleRate: 48_000, inputChannels: 1, ringSeconds: 60, baseLatencySeconds: 0 },
  });
  node.connect(context.destination);
  const send = (command: unknown): void => {
    node.port.postMessage({ type: 'command', command });
  };
  const chunk = new Float32Array(job.chunkFrames).fill(1 / (8 * job.layers));
  let isReady = false as boolean;
  let answered: () => void = () => undefined;
  let fail: (error: Error) => void = () => undefined;
  const failure = new Promise<never>((_, reject) => {
    fail = reject;
  });
  node.onprocessorerror = () => {
    fail(new Error('The processor threw.'));
  };
  node.port.onmessage = ({ data }: MessageEvent<{ type: string; message: string; report: { type: string } }>) => {
    if (data.type === 'failed') fail(new Error(`The engine failed: ${data.message}`));
    if (data.type !== 'report') return;
    const { report } = data;
    if (report.type === 'audio-wanted') send({ ...report, type: 'supply', samples: chunk });
    if (report.type === 'slab-wanted') send({ type: 'supply-slab', slab: new Float32Array(job.slabFrames) });
    if (report.type === 'program-ready') isReady = true;
    if (report.type === 'refused' || report.type === 'plan-changed') answered();
  };
  /** Commands take effect in order: when the last is answered, all have been handled. */
  const settled = (...commands: readonly unknown[]): Promise<void> =>
    new Promise((resolve) => {
      answered = resolve;
      for (const command of commands) send(command);
    });
  // Refused, since there is nothing to take back.
  const question = { type: 'take-back', heard: 0 };

  const setUp = async (): Promise<void> => {
    for (let i = 0; i < job.slabs; i++) send({ type: 'supply-slab', slab: new Float32Array(job.slabFrames) });
    const { voices, strips, stretches, curves } = job.program;
    await settled(
      { type: 'set-click', playing: false, gain: 0 },
      {
        type: 'use-program',
        program: {
          revision: 1,
          sampleRate: 48_000,
          passesKnown: 0,
          leadFrames: 480,
          pageFrames: Infinity,
          voices: new Float64Array(voices),
          strips: new Float64Array(strips),
          stretches: new Float64Array(stretches),
          curves: new Float32Array(curves),
        },
      },
      question,
    );
  };
  let begun = 0;
  const stop = async (index: number): Promise<void> => {
    await context.suspend((index * job.stopBlocks * 128) / 48_000);
    if (index === 1) await setUp();
    // What was asked for before the answer to the first question has been supplied before the second is put.
    await settled(question);
    await settled(question);
    if (index < job.stops) {
      stop(index + 1).catch(fail);
    } else {
      if (!isReady) throw new Error(`Got no program-ready in ${job.stops} stops for ${job.layers} layers.`);
      await settled({ type: 'play', heard: 0 });
      begun = performance.now();
    }
    await context.resume();
  };
  stop(1).catch(fail);
  await Promise.race([context.startRendering(), failure]);
  return performance.now() - begun;
}

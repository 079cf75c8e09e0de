/** The engine's node: as many channels as the input and the output have. */
import type { EngineCommand } from '../core/render/commands.js';
import { DEVICE_CHANNELS } from '../core/render/routing.js';
import type { SampleRate } from '../core/units/index.js';
import type { ProcessorSetup, ToEngine } from '../protocol/wire.js';
import { PROCESSOR_NAME, transfersOfCommand } from '../protocol/wire.js';

/** Input that stays within reach: presses in the past, and what storage has not yet taken. */
export const RING_SECONDS = 60;

export interface NodeShape {
  readonly sampleRate: SampleRate;
  readonly inputs: number;
  readonly outputs: number;
}

export function makeNode(context: AudioContext, { sampleRate, inputs, outputs }: NodeShape): AudioWorkletNode {
  const setup: ProcessorSetup = {
    sampleRate,
    inputChannels: inputs,
    ringSeconds: RING_SECONDS,
    outputChannels: outputs,
    baseLatencySeconds: context.baseLatency,
  };
  return new AudioWorkletNode(context, PROCESSOR_NAME, {
    numberOfInputs: 1,
    numberOfOutputs: 1,
    outputChannelCount: [outputs],
    channelCount: inputs,
    channelCountMode: 'explicit',
    channelInterpretation: 'discrete',
    processorOptions: setup,
  });
}

/**
 * Two pairs where the device has four channels: they leave by one output of the node, so no frame can come between them.
 * @returns the channels of that output.
 */
export function spreadOutput(destination: AudioDestinationNode): number {
  if (destination.maxChannelCount < DEVICE_CHANNELS) return 2;
  destination.channelCount = DEVICE_CHANNELS;
  destination.channelCountMode = 'explicit';
  destination.channelInterpretation = 'discrete';
  return DEVICE_CHANNELS;
}

export function command(node: AudioWorkletNode, order: EngineCommand): void {
  post(node, { type: 'command', command: order }, transfersOfCommand(order));
}

/** The one place where messages go out. */
export function post(node: AudioWorkletNode, message: ToEngine, transfer: Transferable[] = []): void {
  node.port.postMessage(message, transfer);
}

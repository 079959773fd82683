import { InputError } from '../units/input-error.ts';

/** An error with all that is needed to throw it again on the other side. */
export interface CrossedError {
  readonly kind: 'input' | 'ours';
  readonly subject: string;
  readonly message: string;
  readonly stack: string;
}

/** Makes an error ready to cross between threads. */
export function crossingError(error: unknown): CrossedError {
  if (error instanceof InputError) {
    return { kind: 'input', subject: error.subject, message: error.detail, stack: '' };
  }
  const ours = error instanceof Error ? error : new Error(String(error));
  return { kind: 'ours', subject: ours.name, message: ours.message, stack: ours.stack ?? '' };
}

/** The same error on the other side. */
export function arrivedError(error: CrossedError): Error {
  if (error.kind === 'input') return new InputError(error.subject, error.message);
  const ours = new Error(error.message);
  ours.name = error.subject;
  ours.stack = error.stack;
  return ours;
}

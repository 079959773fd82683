/**
 * The caller's mistake or an unusable file: worded for the operator, one line, exit status 2 on the command line.
 * Anything else that is thrown is our own fault.
 */
export class InputError extends Error {
  override readonly name = 'InputError';

  /**
   * @param subject  File name, flag or field the message is about; printed before the message.
   * @param detail  What was found, where, and what was expected.
   */
  constructor(
    readonly subject: string,
    readonly detail: string,
  ) {
    super(`${subject}: ${detail}`);
  }
}

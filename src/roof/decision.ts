/** Something a person decided about what was found. */
export interface Decision {
  readonly at: string;
  readonly by: string;
  readonly what: 'accept' | 'refuse' | 'correct' | 'add' | 'sign' | 'note';
  /** Id of the thing decided on, or a question number `q1` … `q7`. */
  readonly about: string;
  readonly before?: unknown;
  readonly after?: unknown;
  readonly why?: string;
}

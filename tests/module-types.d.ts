/** Development packages that ship no types; tests look at a few fields only. */
declare module 'gltf-validator' {
  export function validateBytes(bytes: Uint8Array, options?: object): Promise<{
    readonly issues: { readonly numErrors: number; readonly numWarnings: number; readonly messages: readonly { readonly severity: number; readonly message: string }[] };
  }>;
}

declare module 'pngjs' {
  export class PNG {
    static readonly sync: { read(bytes: Uint8Array): PNG; write(png: PNG): Buffer };
    constructor(options: { width: number; height: number });
    readonly width: number;
    readonly height: number;
    readonly data: Buffer;
  }
}

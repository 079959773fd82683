/** Types of the parts we use of modules that ship none, and of files the bundler turns into text. */
declare module 'sql.js/dist/sql-wasm-browser.js' {
  interface Statement {
    run(values: readonly (string | number | null | Uint8Array)[]): void;
    free(): void;
  }
  interface Database {
    run(sql: string, values?: readonly (string | number | null | Uint8Array)[]): Database;
    prepare(sql: string): Statement;
    export(): Uint8Array<ArrayBuffer>;
    close(): void;
  }
  const initSqlJs: (config: { readonly wasmBinary: Uint8Array }) => Promise<{ readonly Database: new () => Database }>;
  export default initSqlJs;
}

/** The file as a `data:` address with base64 content, in the page as in Node: no request at run time. */
declare module '*?url&inline' {
  const dataAddress: string;
  export default dataAddress;
}

declare module 'pdfkit' {
  const PDFDocument: new (options: import('./report/pdf-document.ts').PdfOptions) => import('./report/pdf-document.ts').PdfDocument;
  export default PDFDocument;
}

/** Types of modules that ship none, and of the bundler's address imports. */
declare module '*?url' {
  const address: string;
  export default address;
}

declare module 'jstat' {
  interface Distribution {
    cdf(value: number, ...parameters: number[]): number;
    inv(probability: number, ...parameters: number[]): number;
  }
  const jstat: { readonly jStat: { readonly chisquare: Distribution; readonly studentt: Distribution; readonly normal: Distribution } };
  export default jstat;
}

/** Types of modules that ship none, and of the bundler's address imports. */
declare module '*?url' {
  const address: string;
  export default address;
}

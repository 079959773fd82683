/** Version of the program that made a record; a test holds it to the package's own. */
export const ROOFDATUM_VERSION = '0.1.0';

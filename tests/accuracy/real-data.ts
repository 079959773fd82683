export async function realDataLines(): Promise<string[]> { return []; }

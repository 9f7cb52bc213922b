/** Below this length pressing a text costs more than it saves. */
const worthPressing = 1024;

/** press gives a text in gzip; undefined where it is short or the browser cannot. */
export async function press(text: string): Promise<ArrayBuffer | undefined> {
  if (text.length < worthPressing || typeof CompressionStream === "undefined") return undefined;
  return new Response(new Blob([text]).stream().pipeThrough(new CompressionStream("gzip"))).arrayBuffer();
}

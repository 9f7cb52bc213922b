import { put } from "../../nav/keep";
import { putBlob } from "../../store/store";
import { newId, type RecordState } from "../../wire/records";

const longestSide = 1600;

/**
 * fitted gives the size of a picture whose longer side is at most the given one. A small picture
 * stays as it is.
 */
export function fitted(width: number, height: number, side = longestSide): { width: number; height: number } {
  const by = Math.min(1, side / Math.max(width, height));
  return { width: Math.max(1, Math.round(width * by)), height: Math.max(1, Math.round(height * by)) };
}

/**
 * shrink makes a JPEG of at most 1600 px from a photo of any size. It drops the camera's data on
 * place and time.
 */
export async function shrink(file: Blob): Promise<Blob> {
  const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  try {
    const size = fitted(picture.width, picture.height);
    const canvas = document.createElement("canvas");
    canvas.width = size.width;
    canvas.height = size.height;
    const pen = canvas.getContext("2d");
    if (!pen) throw new Error("no drawing surface");
    pen.drawImage(picture, 0, 0, size.width, size.height);
    const blob = await new Promise<Blob | null>((done) => canvas.toBlob(done, "image/jpeg", 0.82));
    if (!blob) throw new Error("the picture could not be written");
    return blob;
  } finally {
    picture.close();
  }
}

/** keepPhoto stores a picture with a visit; false if it cannot be read. */
export async function keepPhoto(visit: RecordState, file: File): Promise<boolean> {
  const small = await shrink(file).catch((e: unknown) => {
    console.error(e);
    return undefined;
  });
  if (!small) return false;
  const sha256 = await putBlob(small);
  await put(visit, { [`photo.${newId()}`]: { sha256, type: small.type, bytes: small.size, caption: "" } });
  return true;
}

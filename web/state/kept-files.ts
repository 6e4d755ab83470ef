/** A photo that waits to be sent. */
export interface KeptFile {
  readonly id: string;
  readonly table: string;
  readonly name: string;
  readonly file: Blob;
}

const storeName = 'waiting-photos';

/**
 * Keeps photos on the device until the server has them, so that a reload or a closed page loses none.
 * Where the browser refuses storage the functions do nothing: the photo then lives as long as the page.
 */
export async function keepFile(kept: KeptFile): Promise<void> {
  await inStore('readwrite', (store) => store.put(kept, kept.id)).catch(() => undefined);
}

export async function dropFile(id: string): Promise<void> {
  await inStore('readwrite', (store) => store.delete(id)).catch(() => undefined);
}

export async function keptFiles(table: string): Promise<KeptFile[]> {
  const all = await inStore<KeptFile[]>('readonly', (store) => store.getAll()).catch(() => []);
  return all.filter((kept) => kept.table === table);
}

function inStore<T>(mode: IDBTransactionMode, use: (store: IDBObjectStore) => IDBRequest): Promise<T> {
  return new Promise((resolve, reject) => {
    const opening = indexedDB.open('gapwright', 1);
    opening.onupgradeneeded = () => opening.result.createObjectStore(storeName);
    opening.onerror = () => reject(opening.error);
    opening.onsuccess = () => {
      const database = opening.result;
      const transaction = database.transaction(storeName, mode);
      const asked = use(transaction.objectStore(storeName));
      transaction.oncomplete = () => {
        database.close();
        resolve(asked.result as T);
      };
      transaction.onerror = () => reject(transaction.error);
      transaction.onabort = () => reject(transaction.error);
    };
  });
}

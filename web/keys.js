// The operations that keys are made of. WebCrypto has no scrypt and no ChaCha20, and signs only asynchronously.
import * as ed25519 from "./ed25519.js";
import { chacha20poly1305 } from "./ciphers/chacha.js";
import { scrypt } from "./hashes/scrypt.js";
import { sha512 } from "./hashes/sha2.js";

ed25519.hashes.sha512 = sha512;

export const keys = {
  public: (secret) => ed25519.getPublicKey(secret),
  sign: (secret, message) => ed25519.sign(message, secret),
  holds: (key, message, signature) => {
    try {
      return ed25519.verify(signature, message, key, { zip215: false });  // RFC 8032, strictly
    } catch {
      return false;
    }
  },
  stretched: (words, salt, n, r, p) => scrypt(words, salt, { N: n, r, p, dkLen: 32 }),
  lock: (key, nonce, data, bound) => chacha20poly1305(key, nonce, bound).encrypt(data),
  unlock: (key, nonce, locked, bound) => {
    try {
      return chacha20poly1305(key, nonce, bound).decrypt(locked);
    } catch {
      return undefined;
    }
  },
};

#pragma once
/// Keys of people: Ed25519 (RFC 8032), the secret half in a file that a passphrase opens. Public
/// keys are written as RFC 8410 has them, so that other tools read them: docs/bundle.md.
#include <array>
#include <string>
#include <string_view>
#include <vector>

#include "base/json.hpp"
#include "base/result.hpp"
#include "base/time.hpp"

namespace gw::desk {

/// Bytes that are wiped when they go. Moved, never copied.
class Secret {
  public:
    Secret() = default;
    /// Takes the text over and wipes it where it stood.
    explicit Secret(std::string&& text);
    explicit Secret(std::size_t size) : bytes_(size) {}
    Secret(Secret const&) = delete;
    Secret& operator=(Secret const&) = delete;
    Secret(Secret&& other) noexcept;
    Secret& operator=(Secret&& other) noexcept;
    ~Secret();
    [[nodiscard]] bool empty() const { return bytes_.empty(); }
    [[nodiscard]] std::size_t size() const { return bytes_.size(); }
    [[nodiscard]] unsigned char const* data() const { return bytes_.data(); }
    [[nodiscard]] unsigned char* data() { return bytes_.data(); }
    friend bool operator==(Secret const& a, Secret const& b) { return a.bytes_ == b.bytes_; }

  private:
    void wipe();
    std::vector<unsigned char> bytes_;
};

struct PublicKey {
    std::array<unsigned char, 32> bytes{};
    friend bool operator==(PublicKey const&, PublicKey const&) = default;
};
using SignatureBytes = std::array<unsigned char, 64>;

/// SHA-256 of the key in DER form (SubjectPublicKeyInfo): what `openssl pkey -pubin -outform DER`
/// and `sha256sum` say of its PEM file.
std::string fingerprint(PublicKey const& key);
std::string pem_of(PublicKey const& key);
Result<PublicKey> public_key_of_pem(std::string_view text, std::string const& source);
std::string hex_of(std::string_view bytes);
/// Exactly the digits that are asked for, lower case.
Result<PublicKey> public_key_of_hex(std::string_view hex, std::string const& source);
Result<SignatureBytes> signature_of_hex(std::string_view hex, std::string const& source);
std::string hex_of(PublicKey const& key);
std::string hex_of(SignatureBytes const& signature);

bool verify(PublicKey const& key, std::string_view text, SignatureBytes const& signature);

/// A key file as it stands on the disk: `gaswright.key/1`.
struct KeyFile {
    std::string name;     ///< of the person
    std::string created;  ///< ISO 8601
    PublicKey public_key;
    bool has_passphrase = true;
    // The secret, sealed: XChaCha20-Poly1305 under a key that Argon2id makes of the passphrase.
    std::uint64_t operations{}, memory_bytes{};
    std::string salt, nonce, sealed;  ///< bytes
};
Result<KeyFile> read_key(std::string_view text, std::string const& source);

/// How dear a guess at the passphrase is made.
enum class Cost { usual, least };  ///< least: for tests
/// The text of a new key file. An empty passphrase gives a file that opens without one.
Result<std::string> new_key(std::string const& name,
                            Secret const& passphrase,
                            Instant created,
                            Cost cost = Cost::usual);

class SigningKey {
  public:
    [[nodiscard]] std::string const& name() const { return name_; }
    [[nodiscard]] PublicKey const& public_key() const { return public_key_; }
    [[nodiscard]] SignatureBytes sign(std::string_view text) const;

  private:
    friend Result<SigningKey> open_key(KeyFile const&, Secret const&, std::string const&);
    std::string name_;
    PublicKey public_key_;
    Secret secret_;
};
/// Refuses a wrong passphrase and a file in which anything was changed.
Result<SigningKey> open_key(KeyFile const& file,
                            Secret const& passphrase,
                            std::string const& source);

/// Writes a key file that only its owner may read; never over another file.
Result<> write_key_file(std::string const& path, std::string_view text);
/// One sentence when others than the owner may read the file; empty otherwise.
std::string key_file_warning(std::string const& path);

/// Whose keys are believed: lines "FINGERPRINT  NAME", "#" begins a remark.
struct TrustedKey {
    std::string fingerprint, name;
};
Result<std::vector<TrustedKey>> read_trust(std::string_view text, std::string const& source);

}  // namespace gw::desk

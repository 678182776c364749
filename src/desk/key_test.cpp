#include "desk/key.hpp"

#include <gtest/gtest.h>
#include <sys/stat.h>
#include <unistd.h>

#include <filesystem>
#include <nlohmann/json.hpp>

#include "base/base.hpp"

namespace gw::desk {
namespace {

Secret secret(char const* words) { return Secret(std::string(words)); }

std::string bytes(std::string_view hex) {
    std::string out;
    for (std::size_t i = 0; i + 1 < hex.size(); i += 2)
        out += static_cast<char>(std::stoi(std::string(hex.substr(i, 2)), nullptr, 16));
    return out;
}

// RFC 8032, section 7.1, tests 1 to 3: the public key verifies the printed signature.
TEST(Key, AgreesWithThePublishedSignatures) {
    struct Row {
        char const *key, *message, *signature;
    };
    for (auto const& row :
         {Row{"d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
              "",
              "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e"
              "39701cf9b46bd25bf5f0595bbe24655141438e7a100b"},
          Row{"3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
              "72",
              "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f"
              "3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"},
          Row{"fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
              "af82",
              "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67"
              "f760984dc6594a7c15e9716ed28dc027beceea1ec40a"}}) {
        auto const key = public_key_of_hex(row.key, "rfc").value();
        auto const signature = signature_of_hex(row.signature, "rfc").value();
        EXPECT_TRUE(verify(key, bytes(row.message), signature));
        EXPECT_FALSE(verify(key, bytes(row.message) + "x", signature));
    }
}

// RFC 8410, section 10.1: the public key in PEM form.
TEST(Key, IsWrittenAsThePublishedExample) {
    std::string const pem =
        "-----BEGIN PUBLIC KEY-----\n"
        "MCowBQYDK2VwAyEAGb9ECWmEzf6FQbrBZ9w7lshQhqowtrbLDFw4rXAxZuE=\n"
        "-----END PUBLIC KEY-----\n";
    auto const key = public_key_of_pem(pem, "rfc");
    ASSERT_TRUE(key) << key.error().what;
    EXPECT_EQ(hex_of(*key), "19bf44096984cdfe8541bac167dc3b96c85086aa30b6b6cb0c5c38ad703166e1");
    EXPECT_EQ(pem_of(*key), pem);
    for (std::size_t i = 0; i < pem.size(); ++i) {
        auto other = pem;
        other[i] = other[i] == 'A' ? 'B' : 'A';
        auto const read = public_key_of_pem(other, "changed");
        EXPECT_TRUE(!read || pem_of(*read) == other) << "another key, or none: " << i;
    }
}

TEST(Key, OpensWithItsPassphraseAlone) {
    auto const text = new_key("A. Person", secret("long words"), {}, Cost::least).value();
    auto const file = read_key(text, "key").value();
    EXPECT_EQ(file.name, "A. Person");
    EXPECT_TRUE(file.has_passphrase);
    auto const key = open_key(file, secret("long words"), "key");
    ASSERT_TRUE(key) << key.error().what;
    EXPECT_TRUE(verify(file.public_key, "said", key->sign("said")));
    EXPECT_FALSE(verify(file.public_key, "unsaid", key->sign("said")));
    EXPECT_FALSE(open_key(file, secret("long word"), "key"));
    EXPECT_FALSE(open_key(file, Secret(), "key"));
    EXPECT_NE(text, new_key("A. Person", secret("long words"), {}, Cost::least).value());
    EXPECT_EQ(text.find("long words"), std::string::npos);
}

// A name or a key that was changed in the file does not open.
TEST(Key, CannotBeRenamed) {
    auto const text = new_key("A. Person", secret("w"), {}, Cost::least).value();
    auto file = read_key(text, "key").value();
    file.name = "B. Person";
    EXPECT_FALSE(open_key(file, secret("w"), "key"));
    file = read_key(text, "key").value();
    file.public_key.bytes[3] ^= 1;
    EXPECT_FALSE(open_key(file, secret("w"), "key"));
    file = read_key(text, "key").value();
    file.sealed[5] = static_cast<char>(file.sealed[5] ^ 1);
    EXPECT_FALSE(open_key(file, secret("w"), "key"));
}

TEST(Key, IsRefusedWhenItIsNone) {
    EXPECT_FALSE(new_key("", secret("w"), {}, Cost::least));
    EXPECT_FALSE(new_key("two\nlines", secret("w"), {}, Cost::least));
    EXPECT_FALSE(read_key("{}", "key"));
    EXPECT_FALSE(read_key("nonsense", "key"));
    auto text = new_key("A. Person", secret("w"), {}, Cost::least).value();
    auto const memory = text.find("\"memory_bytes\": ");
    auto greedy = text;
    greedy.insert(memory + 16, "99999999");
    EXPECT_FALSE(read_key(greedy, "key")) << "no file makes the machine take a terabyte";
}

TEST(Key, IsWrittenForItsOwnerAndNeverOverAnother) {
    auto const path = std::filesystem::temp_directory_path() /
                      ("key_test_" + std::to_string(::getpid()) + ".key");
    std::filesystem::remove(path);
    ASSERT_TRUE(write_key_file(path, "text"));
    struct stat about {};
    ASSERT_EQ(::stat(path.c_str(), &about), 0);
    EXPECT_EQ(about.st_mode & 0777U, 0600U);
    EXPECT_TRUE(key_file_warning(path).empty());
    EXPECT_FALSE(write_key_file(path, "other"));
    EXPECT_EQ(read_file(path).value(), "text");
    ASSERT_EQ(::chmod(path.c_str(), 0644), 0);
    EXPECT_FALSE(key_file_warning(path).empty());
    std::filesystem::remove(path);
}

TEST(Key, TrustIsAListOfFingerprintsAndNames) {
    std::string const print(64, 'a');
    auto const trust = read_trust("# ours\n\n" + print + "  A. Person\r\n", "trust");
    ASSERT_TRUE(trust);
    ASSERT_EQ(trust->size(), 1U);
    EXPECT_EQ(trust->front().name, "A. Person");
    EXPECT_FALSE(read_trust("abc A. Person\n", "trust"));
    EXPECT_FALSE(read_trust(print + "\n", "trust"));
}

TEST(Secret, WipesWhatItTookOver) {
    std::string text = "a passphrase that is long enough to stand on the heap";
    Secret const taken(std::move(text));
    EXPECT_TRUE(text.empty());  // NOLINT(bugprone-use-after-move): that is what is asked
    EXPECT_EQ(taken.size(), 53U);
}

}  // namespace
}  // namespace gw::desk

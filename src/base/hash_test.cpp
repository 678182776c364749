#include "base/hash.hpp"

#include <gtest/gtest.h>

// Source of the check values: FIPS 180-4 example messages (NIST), one-block "abc" and the empty
// message.
TEST(Sha256, AgreesWithThePublishedExamples) {
    EXPECT_EQ(gw::sha256("abc"),
              "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    EXPECT_EQ(gw::sha256(""), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

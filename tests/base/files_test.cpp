#include "kerfwright/files.hpp"

#include <gtest/gtest.h>

#include <filesystem>

#include "kerfwright/error.hpp"

namespace kerfwright {
namespace {

TEST(Files, TheHashIsThatOfThePublishedExamples) {
  // FIPS 180-4 example "abc" and the empty message (NIST's published test vectors).
  EXPECT_EQ(sha256_hex("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  EXPECT_EQ(sha256_hex(""), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

TEST(Files, WhatWasWrittenIsReadBackAndNothingElseLiesBesideIt) {
  const auto folder = std::filesystem::path(testing::TempDir()) / "kerfwright-files";
  std::filesystem::remove_all(folder);
  std::filesystem::create_directories(folder);
  const std::string path = folder / "a.txt";
  const std::string text("one\0two\n", 8);
  write_file(path, "older and longer than what follows");
  write_file(path, text);
  EXPECT_EQ(read_file(path), text);
  EXPECT_EQ(std::distance(std::filesystem::directory_iterator(folder), {}), 1);
}

Fault fault_of_reading(const std::string& path) {
  try {
    read_file(path);
  } catch (const UserError& error) {
    return error.fault();
  }
  return Fault::internal;
}

TEST(Files, MissingEmptyAndFolderAreThreeSentences) {
  const auto folder = std::filesystem::path(testing::TempDir()) / "kerfwright-files2";
  std::filesystem::create_directories(folder);
  write_file(folder / "empty.txt", "");
  EXPECT_EQ(fault_of_reading(folder / "none.txt"), Fault::no_file);
  EXPECT_EQ(fault_of_reading(folder), Fault::no_file);
  EXPECT_EQ(fault_of_reading(folder / "empty.txt"), Fault::empty_file);
}

TEST(Files, APlaceThatTakesNothingIsSaid) {
  try {
    write_file("/proc/none/a.txt", "x");
    FAIL() << "a write into /proc succeeded";
  } catch (const UserError& error) {
    EXPECT_EQ(error.fault(), Fault::cannot_write);
  }
}

}  // namespace
}  // namespace kerfwright

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

TEST(Files, WhatBelongsTogetherIsWrittenWholeOrNotAtAll) {
  const auto folder = std::filesystem::path(testing::TempDir()) / "kerfwright-files3";
  std::filesystem::remove_all(folder);
  std::filesystem::create_directories(folder / "taken");
  const auto at = [&](const char* name) { return (folder / name).string(); };
  write_together({{at("a"), "old a"}, {at("b"), "old b"}, {at("c"), "old c"}}, {});
  EXPECT_THROW(write_together({{at("a"), "new a"}, {at("none/b"), "new b"}}, {at("c")}), UserError);
  EXPECT_THROW(write_together({{at("a"), "new a"}, {at("taken"), "new b"}}, {at("c")}), UserError);
  EXPECT_EQ(read_file(at("a")) + read_file(at("b")) + read_file(at("c")), "old aold bold c");
  EXPECT_EQ(std::distance(std::filesystem::directory_iterator(folder), {}), 4);
  write_together({{at("a"), "new a"}, {at("b"), "new b"}}, {at("c"), at("a"), at("d")});
  EXPECT_EQ(read_file(at("a")) + read_file(at("b")), "new anew b");
  EXPECT_EQ(std::distance(std::filesystem::directory_iterator(folder), {}), 3);
}

TEST(Files, TheLastOfThoseThatBelongTogetherIsTakenAwayFirst) {
  // A sheet that names plans: stopped midway, here by a folder that cannot be taken away as a file,
  // no old sheet may be left that names what is gone.
  const auto folder = std::filesystem::path(testing::TempDir()) / "kerfwright-midway";
  std::filesystem::remove_all(folder);
  std::filesystem::create_directories(folder / "stuck");
  const auto at = [&](const char* name) { return (folder / name).string(); };
  write_together({{at("plan"), "old"}, {at("sheet"), "names the old plan"}}, {});
  EXPECT_THROW(write_together({{at("stuck/plan"), "new"}, {at("sheet"), "new"}}, {at("stuck")}),
               UserError);
  EXPECT_FALSE(std::filesystem::exists(at("sheet")));
  std::filesystem::remove_all(folder);
}

TEST(Files, AFileThatIsShorterThanItSaysIsNotReadAsWhole) {
  const std::string kernels = "/sys/devices/system/cpu/online";  // says 4096 bytes, holds a few
  if (!std::filesystem::exists(kernels)) GTEST_SKIP() << "no such file here";
  EXPECT_EQ(fault_of_reading(kernels), Fault::no_file);
}

TEST(Files, AFileBeyondAllScansIsRefusedBeforeItIsRead) {
  const auto path = std::filesystem::path(testing::TempDir()) / "kerfwright-huge";
  write_file(path, "x");
  std::filesystem::resize_file(path, 9ULL << 30);  // takes no room on the disk
  EXPECT_EQ(fault_of_reading(path), Fault::damaged_file);
  std::filesystem::remove(path);
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

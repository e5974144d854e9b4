using System.Diagnostics;
using System.Globalization;
using Hotlight.Core;
using Hotlight.Imaging.Png;

namespace Hotlight.Privacy.Publishing;

/// <summary>A line that was read in a picture. Its text stays in memory.</summary>
/// <param name="Box">Where it stands, in pixels of the picture that was given.</param>
/// <param name="Text">What was read.</param>
/// <param name="IsSure">Whether it is text beyond what bone and noise are taken for.</param>
internal sealed record ReadWord(PixelBox Box, string Text, bool IsSure);

/// <summary>A program that reads text in pictures: tesseract, where it is installed. It runs as a process of its own with a time limit; the picture goes through its input, nothing is written to disk.</summary>
public sealed class TextReadingProgram
{
    // What is smaller in a picture shrunk to this is found by its strokes.
    private const int LongSidePixels = 2000;

    // Below it the program guesses; trabeculae and noise are read as short words of low confidence.
    private const double LeastConfidence = 60;
    private static readonly TimeSpan Limit = TimeSpan.FromSeconds(30);
    private static readonly Lazy<TextReadingProgram?> Found = new(Look);
    private readonly string path;

    private TextReadingProgram(string path, string name)
    {
        this.path = path;
        Name = name;
    }

    /// <summary>The program on this machine; null where none is installed.</summary>
    public static TextReadingProgram? Installed => Found.Value;

    /// <summary>Name and version, such as "tesseract 5.3.0".</summary>
    public string Name { get; }

    /// <summary>Lines read in a picture; null where the program failed or took too long.</summary>
    /// <param name="picture">The picture, 0 black to 255 white; borrowed.</param>
    /// <param name="cancellation">Stops it.</param>
    internal async Task<IReadOnlyList<ReadWord>?> ReadAsync(Raster<byte> picture, CancellationToken cancellation)
    {
        int step = Math.Max(1, (int)Math.Ceiling(Math.Max(picture.Columns, picture.Rows) / (double)LongSidePixels));
        using MemoryStream file = new();
        PngWriter.Write(file, Shrunk(picture, step).AsReadOnly());
        ProcessStartInfo start = new(path)
        {
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            UseShellExecute = false,
        };
        foreach (string word in new[] { "stdin", "stdout", "--psm", "11", "-l", "eng", "--dpi", "150", "tsv" })
        {
            start.ArgumentList.Add(word);
        }

        start.Environment["OMP_THREAD_LIMIT"] = "1";
        using CancellationTokenSource limit = CancellationTokenSource.CreateLinkedTokenSource(cancellation);
        limit.CancelAfter(Limit);
        try
        {
            using Process process = Process.Start(start) ?? throw new InvalidOperationException("The program did not start.");
            try
            {
                Task<string> errors = process.StandardError.ReadToEndAsync(limit.Token);
                Task<string> answer = process.StandardOutput.ReadToEndAsync(limit.Token);
                await process.StandardInput.BaseStream.WriteAsync(file.GetBuffer().AsMemory(0, (int)file.Length), limit.Token).ConfigureAwait(false);
                process.StandardInput.Close();
                string table = await answer.ConfigureAwait(false);
                await errors.ConfigureAwait(false);
                await process.WaitForExitAsync(limit.Token).ConfigureAwait(false);
                return process.ExitCode == 0 ? Lines(table, step) : null;
            }
            finally
            {
                if (!process.HasExited)
                {
                    process.Kill(entireProcessTree: true);
                }
            }
        }
        catch (OperationCanceledException) when (!cancellation.IsCancellationRequested)
        {
            return null;
        }
        catch (Exception error) when (error is IOException or InvalidOperationException or System.ComponentModel.Win32Exception)
        {
            return null;
        }
    }

    private static Raster<byte> Shrunk(Raster<byte> picture, int step)
    {
        if (step == 1)
        {
            return picture;
        }

        Raster<byte> small = new(picture.Rows / step, picture.Columns / step);
        Parallel.For(0, small.Rows, row =>
        {
            Span<byte> line = small.Row(row);
            for (int column = 0; column < line.Length; column++)
            {
                int sum = 0;
                for (int y = 0; y < step; y++)
                {
                    ReadOnlySpan<byte> from = picture.Row((row * step) + y);
                    for (int x = 0; x < step; x++)
                    {
                        sum += from[(column * step) + x];
                    }
                }

                line[column] = (byte)(sum / (step * step));
            }
        });
        return small;
    }

    /// <summary>The lines of the program's table: words of one line beside each other become one.</summary>
    private static List<ReadWord> Lines(string table, int step)
    {
        Dictionary<string, List<(PixelBox Box, string Text, double Confidence)>> lines = [];
        foreach (string row in table.Split('\n').Skip(1))
        {
            string[] cells = row.Split('\t');
            if (cells.Length < 12 || cells[0] != "5" || !double.TryParse(cells[10], CultureInfo.InvariantCulture, out double confidence))
            {
                continue;
            }

            string text = cells[11].Trim();
            if (text.Any(char.IsLetterOrDigit))
            {
                int Number(int cell) => step * int.Parse(cells[cell], CultureInfo.InvariantCulture);
                string key = string.Join('.', cells[1..5]);
                lines.TryAdd(key, []);
                lines[key].Add((new PixelBox(Number(6), Number(7), Math.Max(1, Number(8)), Math.Max(1, Number(9))), text, confidence));
            }
        }

        List<ReadWord> read = [];
        foreach (List<(PixelBox Box, string Text, double Confidence)> words in lines.Values)
        {
            int left = words.Min(word => word.Box.Left);
            int top = words.Min(word => word.Box.Top);
            bool isSure = words.Exists(word => word.Confidence >= LeastConfidence && word.Text.Where(char.IsLetterOrDigit).Select(char.ToLowerInvariant).Distinct().Skip(2).Any());
            read.Add(new ReadWord(
                new PixelBox(left, top, words.Max(word => word.Box.Right) - left, words.Max(word => word.Box.Bottom) - top),
                string.Join(' ', words.Select(word => word.Text)),
                isSure));
        }

        return read;
    }

    private static TextReadingProgram? Look()
    {
        string program = OperatingSystem.IsWindows() ? "tesseract.exe" : "tesseract";
        foreach (string folder in (Environment.GetEnvironmentVariable("PATH") ?? string.Empty).Split(Path.PathSeparator, StringSplitOptions.RemoveEmptyEntries))
        {
            string path = Path.Combine(folder, program);
            if (!File.Exists(path))
            {
                continue;
            }

            try
            {
                using Process process = Process.Start(new ProcessStartInfo(path, "--version") { RedirectStandardOutput = true, RedirectStandardError = true, UseShellExecute = false })!;
                string answer = process.StandardOutput.ReadToEnd();
                process.WaitForExit(5000);
                return new TextReadingProgram(path, answer.Split('\n')[0].Trim() is { Length: > 0 and < 60 } name ? name : "tesseract");
            }
            catch (Exception error) when (error is IOException or InvalidOperationException or System.ComponentModel.Win32Exception)
            {
                return null;
            }
        }

        return null;
    }
}
